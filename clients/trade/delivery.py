"""What to look at before a file leaves, what a check answers of it, and what its name becomes."""

from collections.abc import Collection, Mapping, Sequence
from enum import Enum
from fractions import Fraction
from pathlib import PurePosixPath

from clients.trade.checks.result import Result
from clients.trade.filename import NameRefused, build_name, matches
from clients.trade.specification import LABELS, found_in_words
from studio.trade.cadence import cadence
from studio.trade.timecode import label_rate, rate_label

# Common practice, no source. What a check of the file answers stands beside it; the rest only a
# person can judge.
FIRST_CHECKS: dict[str, tuple[str, ...]] = {
    "Plays from the first frame to the last without a stumble": (),
    "Every picture is held as it was shot, at a constant rate": (
        "constant_rate", "cadence", "freeze",
    ),
    "First and last picture are the ones agreed": (),
    "Picture size, frame rate and length as listed": (
        "width", "height", "frame_rate", "frame_count", "duration",
    ),
    "Colour tags as asked for": (
        "colour_primaries", "colour_transfer", "colour_matrix", "colour_range",
    ),
    "Colours and black levels as in the approved version": (),
    "No flicker, rig, wire or finger left in the picture": (),
    "Titles and names spelled as approved": (),
    "Sound in step at the end, not only at the start": (),
    "Loudness and peak measured over the whole film": ("loudness", "true_peak"),
    "Captions in order and inside the film": ("captions",),
    "Captions spelled as approved": (),
    "A second copy is kept somewhere else": (),
}  # fmt: skip


class Box(Enum):
    """What a check of the file says of one box of the checklist."""

    PERSON = "a person looks"
    FITS = "measured, and it fits"
    MISFIT = "measured, and it does not fit"


def box(text: str, results: Sequence[Result], accepted: Collection[str] = ()) -> Box:
    """What the results say of the box with that text; `accepted` are excepted checks.

    A box in other words, or one of whose items nothing was asked for, is a person's.
    """
    answers = [result for result in results if result.check in FIRST_CHECKS.get(text, ())]
    if not answers:
        return Box.PERSON
    fits = all(result.fits or result.check in accepted for result in answers)
    return Box.FITS if fits else Box.MISFIT


def changes_between(before: Sequence[Result], after: Sequence[Result]) -> list[str]:
    """What was found otherwise than in the version before, one short sentence each."""
    was = {result.check: result.found for result in before}
    return [
        f"{LABELS[result.check]}: {found_in_words(result.check, result.found)}, "
        f"before {found_in_words(result.check, was[result.check])}."
        for result in after
        if result.check in was and was[result.check] != result.found
    ]


def delivered_name(
    own: str, wanted: str, fields: Mapping[str, str], version: int, ending: str
) -> str:
    """The name a file gets in a delivery, from the deliverable's `own` pattern.

    Without one the pattern the specification `wanted` is taken, else a plain one. `ending` is that
    of the file itself, as .mp4. A pattern without a version gets one from the second on. Raises
    NameRefused where the name would be none, contradict the specification, or lie about the file.
    """
    pattern = own or wanted or USUAL_PATTERN
    stem, dot, last = pattern.rpartition(".")
    if "{version}" not in pattern and version > 1:
        pattern = f"{stem}_v{{version}}{dot}{last}" if dot else f"{pattern}_v{{version}}"
    name = build_name(pattern, fields, version)
    typed = PurePosixPath(name).suffix.lower()
    if ending and typed != ending:
        if dot:
            raise NameRefused(
                f"The name would be {name}, but the file ends in {ending}: correct the pattern, or "
                "export the film anew."
            )
        name += ending
    if wanted and not matches(wanted, name):
        raise NameRefused(f"The specification asks for names as {wanted}; this would be {name}.")
    return name


def results_of(rows: Sequence[Mapping]) -> tuple[Result, ...]:
    """Results from the JSON objects they were kept as."""
    return tuple(Result(**row) for row in rows)


USUAL_PATTERN = "{production}_{deliverable}_v{version}"
FILM_ENDINGS = (".mp4", ".mov", ".m4v", ".mkv", ".webm", ".mxf", ".avi", ".ts", ".ogv")
_EXPOSURES = {1: "ones", 2: "twos", 3: "threes", 4: "fours"}


def cadence_caution(film_rate: Fraction, exposure: int, delivered: Fraction | None) -> str:
    """What is uneven about a film at `film_rate` on `exposure` delivered at another rate.

    Rates are frames per second; exposure is frames per picture. Empty where every picture is held
    equally long, or no rate was asked for.
    """
    if delivered is None:
        return ""
    # 23.976 on twos counts as 12 pictures a second, as everybody says it.
    animated = label_rate(film_rate) / exposure
    found = cadence(animated, delivered)
    if found.even:
        return ""
    on = _EXPOSURES.get(exposure, f"{exposure}s")
    return (
        f"This film has {rate_label(animated)} pictures a second ({rate_label(film_rate)} on "
        f"{on}): {found.sentence}"
    )

"""Every check name judged: wanted, found, fits or not, and what to do about it."""

import math
from collections.abc import Callable
from fractions import Fraction

from clients.trade.checks import motion
from clients.trade.checks.captions import MOST_NAMED, faults_of, read_captions
from clients.trade.checks.flash import MOST_FLASHES
from clients.trade.checks.result import Result
from clients.trade.filename import fault_of_name, matches
from clients.trade.film import FilmFacts, SoundFacts
from clients.trade.specification import (
    CHECKS,
    MATRICES,
    PRIMARIES,
    TRANSFERS,
    Aspect,
    Duration,
    FrameCount,
    Specification,
    name_of_code,
    plain,
)
from studio.trade.file_size import file_size

Verdict = tuple[object, bool, str]
"""found, fits, advice"""

SILENT = "silent"
NO_SOUND = "no sound"
UNHEARD = NO_SOUND, False, "There is no sound to measure."
"""The verdict on what depends on sound; that it is to be added, `audio` says once."""


def judge_film(film: FilmFacts, specification: Specification) -> tuple[Result, ...]:
    """One Result for every item the specification sets, in the order of CHECKS."""
    results = []
    for check in CHECKS:
        wanted = getattr(specification, check)
        if wanted is not None:
            found, fits, advice = JUDGES[check](film, wanted)
            results.append(Result(check, plain(wanted), found, fits, "" if fits else advice))
    return tuple(results)


def _equal(found: object, wanted: object, advice: str) -> Verdict:
    return found, found == wanted, advice


# --- the file and its streams ------------------------------------------------------------


def _container(film: FilmFacts, wanted: str) -> Verdict:
    if film.container != wanted:
        return film.container, False, f"Export again as {wanted}; renaming is not enough."
    if film.video_streams > 1:
        found = f"{film.container} with {film.video_streams} video streams"
        return found, False, "Keep one video stream: only the first was checked."
    dot, extension = film.name.rpartition(".")[1:]
    if film.expected_extensions and (not dot or extension.lower() not in film.expected_extensions):
        named = f"named .{extension}" if dot else "without an extension"
        advice = f"Give the file its true extension, .{film.expected_extensions[0]}."
        return f"{film.container}, {named}", False, advice
    return film.container, True, ""


def _video_codec(film: FilmFacts, wanted) -> Verdict:
    if film.video_codec != wanted.name:
        return film.video_codec, False, f"Export again with the {wanted.name} codec."
    if wanted.profile is None:
        return film.video_codec, True, ""
    found = f"{film.video_codec} {film.profile}".strip()
    fits = film.profile.lower() == wanted.profile.lower()
    return found, fits, f"Export again with the codec's profile set to {wanted.profile}."


def _edge(film: FilmFacts, found: int, wanted: int, edge: str) -> Verdict:
    if film.resized_at is not None:
        text = f"{found}, another size from frame {film.resized_at}"
        return text, False, "Export the whole film at one picture size."
    if film.rotation:
        text = f"{found}, with a flag that turns it by {film.rotation}°"
        return text, False, "Export the picture upright, without a rotation flag."
    return found, found == wanted, f"Export at a {edge} of {wanted} px; scaling loses sharpness."


def _width(film: FilmFacts, wanted: int) -> Verdict:
    return _edge(film, film.width, wanted, "width")


def _height(film: FilmFacts, wanted: int) -> Verdict:
    return _edge(film, film.height, wanted, "height")


def _pixel_aspect(film: FilmFacts, wanted: Aspect) -> Verdict:
    advice = f"Export with a pixel aspect of {wanted}."
    return str(Aspect(film.pixel_aspect)), film.pixel_aspect == wanted, advice


def _scan(film: FilmFacts, wanted: str) -> Verdict:
    interlaced, frames = film.interlaced_frames, film.timing.frames
    if 0 < interlaced < frames:
        found = f"mixed: {interlaced} of {frames} frames interlaced"
    else:
        found = "interlaced" if interlaced else "progressive"
    return _equal(found, wanted, f"Export every frame as {wanted}.")


def _frame_rate(film: FilmFacts, wanted: Fraction) -> Verdict:
    rate = film.timing.rate
    found = str(rate) if rate else "not measurable"
    return found, rate == wanted, f"Export from a timeline at exactly {wanted} frames per second."


def _constant_rate(film: FilmFacts, wanted: bool) -> Verdict:
    if film.timing.constant:
        return True, True, ""
    found = f"uneven, first at frame {film.timing.first_odd_frame}"
    return found, False, "Export with a constant frame rate; editors drift on a variable one."


def _frame_count(film: FilmFacts, wanted: FrameCount) -> Verdict:
    found = film.timing.frames
    over = found - wanted.frames
    advice = f"The film is {_frames(abs(over))} too {'long' if over > 0 else 'short'}: recut it."
    return found, abs(over) <= wanted.tolerance, advice


def _duration(film: FilmFacts, wanted: Duration | FrameCount) -> Verdict:
    seconds, rate = film.timing.duration, film.timing.rate or Fraction(24)
    if isinstance(wanted, FrameCount):
        over, tolerance = seconds - wanted.frames / rate, wanted.tolerance / rate
    else:
        over, tolerance = seconds - wanted.seconds, wanted.tolerance
        if tolerance is None:
            tolerance = Fraction(1, 2) / rate
    length = "long" if over > 0 else "short"
    advice = f"The film runs {float(abs(over)):.3f} s too {length}: recut it."
    return round(float(seconds), 3), abs(over) <= tolerance, advice


def _bit_depth(film: FilmFacts, wanted: int) -> Verdict:
    return _equal(film.bit_depth, wanted, f"Export with {wanted} bits for each colour.")


def _chroma(film: FilmFacts, wanted: str) -> Verdict:
    return _equal(film.chroma, wanted, f"Export with {wanted} colour.")


def _colour(code: int, wanted: int, names: dict[str, int], what: str) -> Verdict:
    name = name_of_code(wanted, names)
    if code == 2:
        advice = f"The file does not say its {what}: export with the tag {name} ({wanted})."
    else:
        advice = f"Convert to {name} ({wanted}) and tag the file so; a wrong tag shifts colours."
    return code, code == wanted, advice


def _colour_primaries(film: FilmFacts, wanted: int) -> Verdict:
    return _colour(film.colour_primaries, wanted, PRIMARIES, "colour primaries")


def _colour_transfer(film: FilmFacts, wanted: int) -> Verdict:
    return _colour(film.colour_transfer, wanted, TRANSFERS, "transfer curve")


def _colour_matrix(film: FilmFacts, wanted: int) -> Verdict:
    return _colour(film.colour_matrix, wanted, MATRICES, "colour matrix")


def _colour_range(film: FilmFacts, wanted: str) -> Verdict:
    if film.full_range is None:
        # H.264 E.2.1: the flag for full range counts as 0 when absent.
        advice = f"The file does not say its range: export with the {wanted} range tag."
        return "unspecified", False, advice
    found = "full" if film.full_range else "limited"
    return _equal(found, wanted, f"Export in {wanted} range, or blacks and whites will shift.")


def _size(film: FilmFacts, wanted: int) -> Verdict:
    over = film.size - wanted
    advice = f"The file is {file_size(over)} too large: export again at a lower bit rate."
    return film.size, over <= 0, advice


def _name(film: FilmFacts, wanted: str) -> Verdict:
    fault = fault_of_name(film.name)
    advice = fault or f"Name the file after the pattern {wanted}."
    return film.name, matches(wanted, film.name), advice


# --- what the pictures show --------------------------------------------------------------


def _black(film: FilmFacts, wanted) -> Verdict:
    parts = motion.black_parts(film.black)
    faults = motion.black_too_long(parts, wanted)
    head, inside, tail = parts
    found = {"head": head, "inside": [str(run) for run in inside], "tail": tail}
    advice = f"Cut the black ({_some(faults)}), or have it accepted in writing."
    return found, not faults, advice


def _freeze(film: FilmFacts, wanted) -> Verdict:
    longest = wanted.longest or math.ceil(film.timing.rate or 24)
    runs = motion.frozen(film.changes, film.moved, film.black, longest)
    if not runs:
        return "none", True, ""
    found = _some([str(run) for run in runs])
    advice = f"One picture stays longer than {_frames(longest)}: check that the hold is meant."
    return found, False, advice


def _cadence(film: FilmFacts, wanted) -> Verdict:
    cadence = motion.cadence(film.changes, wanted.exposure, film.bits_per_pixel)
    found = str(cadence)
    if not cadence.breaks:
        return found, True, ""
    if cadence.is_uncertain:
        advice = (
            "The file is compressed so hard, or so little moves, that repeated and new pictures "
            "cannot be told apart: check the file this one was made from."
        )
        return f"uncertain, reads as {found}", False, advice
    breaks = [f"{run.frames} × at {run}" for run in cadence.breaks]
    if cadence.pattern != (wanted.exposure,):
        advice = (
            f"The pictures are not held for {_frames(wanted.exposure)} each: deliver at a rate "
            "that repeats every picture evenly, without frame blending."
        )
    else:
        advice = (
            f"The cadence breaks {_times(len(breaks))}: look for a frame dropped or doubled at "
            f"{_some([str(run) for run in cadence.breaks])} (counted from 0)."
        )
    return f"{found}; broken: {_some(breaks)}", False, advice


def _flash(film: FilmFacts, wanted) -> Verdict:
    flash = film.flash
    found = {"general": flash.general, "red": flash.red, "worst_frame": flash.worst_frame}
    fits = flash.general <= wanted.general and flash.red <= wanted.red
    advice = (
        f"Caution: more than {min(wanted.general, wanted.red, MOST_FLASHES)} flashes within the "
        f"second before frame {flash.worst_frame}; soften or slow them, and have the film tested "
        "by a laboratory before it is shown: this is not a certificate."
    )
    return found, fits, advice


# --- sound -------------------------------------------------------------------------------


def _audio(film: FilmFacts, wanted: str) -> Verdict:
    if film.sound is None:
        return "none", wanted == "none", "Add the sound: the file has none."
    if wanted == "none":
        return "present", False, "Remove the sound stream: a silent file was asked for."
    if film.sound.streams > 1:
        return f"present, {film.sound.streams} streams, the first measured", True, ""
    return "present", True, ""


def _audio_codec(film: FilmFacts, wanted: str) -> Verdict:
    if film.sound is None:
        return UNHEARD
    return _equal(film.sound.codec, wanted, f"Export the sound as {wanted}.")


def _sample_rate(film: FilmFacts, wanted: int) -> Verdict:
    if film.sound is None:
        return UNHEARD
    return _equal(film.sound.sample_rate, wanted, f"Export the sound at {wanted} Hz.")


def _channels(film: FilmFacts, wanted: int) -> Verdict:
    if film.sound is None:
        return UNHEARD
    return _equal(film.sound.channels, wanted, f"Mix the sound to {_plural(wanted, 'channel')}.")


def _level(sound: SoundFacts | None, level: float | None) -> Verdict | None:
    """The verdict when there is no level to judge."""
    if sound is None:
        return UNHEARD
    if level is None or math.isnan(level):
        return "too short to measure", False, "The sound is shorter than 0.4 s: check the export."
    return None


def _loudness(film: FilmFacts, wanted) -> Verdict:
    sound = film.sound
    if verdict := _level(sound, sound and sound.loudness):
        return verdict
    if math.isinf(sound.loudness):
        return SILENT, False, "The sound stream is silent: check that the mix was exported."
    # BS.1770-4 readings are given to a tenth; judge what is shown.
    found = round(sound.loudness, 1)
    over = round(found - wanted.target, 1)
    change = "Lower" if over > 0 else "Raise"
    advice = f"{change} the whole mix by {abs(over):.1f} dB, then check the peaks again."
    return found, abs(over) <= wanted.tolerance, advice


def _true_peak(film: FilmFacts, wanted: float) -> Verdict:
    sound = film.sound
    if sound is None:
        return UNHEARD
    if sound.true_peak is None or math.isinf(sound.true_peak):
        return SILENT, True, ""
    found = round(sound.true_peak, 1)
    advice = f"The peaks are {found - wanted:.1f} dB too high: limit the mix to {wanted:g} dBTP."
    return found, found <= wanted, advice


def _captions(film: FilmFacts, wanted) -> Verdict:
    if film.captions_text is None:
        return "none", False, f"Put the captions file {film.captions_name} beside the film."
    captions = read_captions(film.captions_text)
    if wanted.kind not in ("any", captions.kind):
        return captions.kind, False, f"Save the captions as {wanted.kind}."
    faults = faults_of(captions, float(film.timing.duration))
    found = f"{captions.kind}, {_plural(len(captions.cues), 'caption')}"
    if not faults:
        return found, True, ""
    more = f" And {len(faults) - MOST_NAMED} more." if len(faults) > MOST_NAMED else ""
    found += f", {_plural(len(faults), 'fault')}"
    return found, False, " ".join(faults[:MOST_NAMED]) + more


# --- wording -----------------------------------------------------------------------------


def _plural(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _frames(number: int) -> str:
    return _plural(number, "frame")


def _times(number: int) -> str:
    return "once" if number == 1 else f"{number} times"


def _some(items: list[str]) -> str:
    """The first few of ``items``, and how many more."""
    more = len(items) - motion.MOST_NAMED
    text = ", ".join(items[: motion.MOST_NAMED])
    return f"{text} and {more} more" if more > 0 else text


JUDGES: dict[str, Callable[..., Verdict]] = {
    "container": _container,
    "video_codec": _video_codec,
    "width": _width,
    "height": _height,
    "pixel_aspect": _pixel_aspect,
    "scan": _scan,
    "frame_rate": _frame_rate,
    "constant_rate": _constant_rate,
    "frame_count": _frame_count,
    "duration": _duration,
    "bit_depth": _bit_depth,
    "chroma": _chroma,
    "colour_primaries": _colour_primaries,
    "colour_transfer": _colour_transfer,
    "colour_matrix": _colour_matrix,
    "colour_range": _colour_range,
    "size": _size,
    "name": _name,
    "black": _black,
    "freeze": _freeze,
    "cadence": _cadence,
    "audio": _audio,
    "audio_codec": _audio_codec,
    "sample_rate": _sample_rate,
    "channels": _channels,
    "loudness": _loudness,
    "true_peak": _true_peak,
    "captions": _captions,
    "flash": _flash,
}

"""What to look at before a file leaves, and what its frame rate does to the pictures."""

from fractions import Fraction

from studio.trade.cadence import cadence
from studio.trade.timecode import label_rate, rate_label

# Common practice, no source.
FIRST_CHECKS = (
    "Plays from the first frame to the last without a stumble",
    "First and last picture are the ones agreed",
    "Picture size, frame rate and length as listed",
    "Colours and black levels as in the approved version",
    "No flicker, rig, wire or finger left in the picture",
    "Titles and names spelled as approved",
    "Sound in step at the end, not only at the start",
    "Loudness and peak measured over the whole film",
    "Captions open, in step and spelled as approved",
    "File name as agreed",
    "A second copy is kept somewhere else",
)
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

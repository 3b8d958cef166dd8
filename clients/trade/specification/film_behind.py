"""What a specification leaves out, filled in from the film it is for."""

from dataclasses import dataclass, replace
from fractions import Fraction

from clients.trade.specification.items import (
    CHECKS,
    CadenceWanted,
    FrameCount,
    Specification,
)
from studio.trade.timecode import label_rate

MEASURED = tuple(check for check in CHECKS if check != "name")
"""What is measured in the file itself; its name is given at the delivery."""
LONGEST_EXPOSURE = 48
"""frames, the most a specification takes"""


@dataclass(frozen=True)
class FilmBehind:
    """The film as it is shot: frames per second, frames per picture, and its frames if agreed."""

    rate: Fraction
    exposure: int
    frames: int | None = None


def filled_from(specification: Specification, film: FilmBehind) -> Specification:
    """The specification with rate, length and cadence of the film where it says nothing of them.

    At another rate than the film's the length is that of the same time, counted in labels (24
    frames of a film at 24 are 24 at 23.976 and 25 at 25), a half rounding up. The cadence stays
    out where no whole number of frames shows each picture. A specification that asks for nothing
    measured, such as an archive of pictures, is left as it is.
    """
    if not specification.wants(*MEASURED):
        return specification
    rate = specification.frame_rate or film.rate
    faster = label_rate(rate) / label_rate(film.rate)
    filled = replace(specification, frame_rate=rate)
    if film.frames and filled.frame_count is None and filled.duration is None:
        filled = replace(filled, frame_count=FrameCount(int(film.frames * faster + Fraction(1, 2))))
    exposure = film.exposure * faster
    if filled.cadence is None and exposure.denominator == 1 and exposure <= LONGEST_EXPOSURE:
        filled = replace(filled, cadence=CadenceWanted(int(exposure)))
    return filled

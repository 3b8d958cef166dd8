"""Where the puppet stands at each picture of a move, and how far it goes between two."""

from dataclasses import dataclass
from itertools import pairwise
from math import floor, isfinite, sqrt

import numpy as np

from shots.trade.easing import CONTROL_POINTS, ease

MOST_PICTURES = 1000  # over 40 s on ones at 24 a second: longer is several moves
UNITS = {"mm": "mm", "degrees": "°"}


@dataclass(frozen=True)
class Move:
    """A distance in mm, or an angle in degrees, covered in a number of new pictures.

    The pose before the move is picture 0 and is not counted: n pictures make n increments.
    `anticipation` (the move back before the start) and `overshoot` (past the end, then back)
    are shares of the travel, 0 for none.
    """

    travel: float
    unit: str
    pictures: int
    ease: str = "both"
    anticipation: float = 0.0
    overshoot: float = 0.0

    def __post_init__(self):
        if self.unit not in UNITS:
            raise ValueError(f"A move is measured in mm or degrees; got {self.unit!r}.")
        if not (isfinite(self.travel) and self.travel > 0):
            raise ValueError(
                f"A move must go somewhere: give a travel above 0, got {self.travel:g} "
                f"{UNITS[self.unit]}. For a puppet that stands still, use a hold."
            )
        if self.ease not in CONTROL_POINTS:
            raise ValueError(f"An ease is one of {', '.join(CONTROL_POINTS)}; got {self.ease!r}.")
        for name in ("anticipation", "overshoot"):
            share = getattr(self, name)
            if not 0 <= share <= 1:
                raise ValueError(
                    f"The {name} is a share of the travel from 0 to 1 (0 % to 100 %); got {share}."
                )
        fewest = 1 + (self.anticipation > 0) + (self.overshoot > 0)
        if self.pictures < fewest:
            raise ValueError(
                f"This move needs at least {fewest} picture{'s' if fewest > 1 else ''} "
                f"(one for each direction it goes in); got {self.pictures}."
            )
        if self.pictures > MOST_PICTURES:
            raise ValueError(
                f"A move has at most {MOST_PICTURES:,} pictures; got {self.pictures:,}. "
                "Split it into several moves."
            )


@dataclass(frozen=True)
class Position:
    """One picture of a move: positions and increments are in the move's unit.

    `leg` is "start", "back" (anticipation), "move" or "settle" (return from the overshoot).
    """

    picture: int
    leg: str
    position: float
    increment: float


def positions(move: Move) -> tuple[Position, ...]:
    """Picture 0 (the start) and every new picture, with the last exactly at the travel's end.

    The main leg follows the chosen ease; anticipation and settling ease both ends. Each extreme
    falls on a picture. Pictures are shared between the legs as the square root of their length:
    the time each takes under the same push, for distance grows as the square of time.
    """
    stops = [0.0]
    legs = []
    if move.anticipation:
        legs.append("back")
        stops.append(-move.anticipation)
    legs.append("move")
    stops.append(1 + move.overshoot)
    if move.overshoot:
        legs.append("settle")
        stops.append(1.0)

    lengths = [abs(after - before) for before, after in pairwise(stops)]
    counts = _shared(move.pictures, lengths)
    rows = [Position(0, "start", 0.0, 0.0)]
    for leg, (start, end), count in zip(legs, pairwise(stops), counts, strict=True):
        kind = move.ease if leg == "move" else "both"
        progress = ease(kind, np.arange(1, count + 1) / count)
        progress[-1] = 1.0
        for share in progress:
            place = move.travel * float(start + share * (end - start))
            rows.append(Position(len(rows), leg, place, place - rows[-1].position))
    return tuple(rows)


def _shared(pictures: int, lengths: list[float]) -> list[int]:
    """Whole pictures per leg: one each, the rest as the square root of length by largest part."""
    weights = [sqrt(length) for length in lengths]
    spare = pictures - len(lengths)
    exact = [spare * weight / sum(weights) for weight in weights]
    counts = [floor(share) for share in exact]
    by_remainder = sorted(range(len(exact)), key=lambda leg: counts[leg] - exact[leg])
    for leg in by_remainder[: spare - sum(counts)]:
        counts[leg] += 1
    return [count + 1 for count in counts]

"""The days a film may take, drawn: how often each number of days came out in the forecast."""

from collections.abc import Sequence
from dataclasses import dataclass

BARS = 40  # at most: more cannot be told apart on a phone
TAIL = 0.99  # the last hundredth would squeeze all the others


@dataclass(frozen=True)
class Bar:
    """A bar from `x`, `width` wide and `height` high, in shares of the drawing."""

    x: float
    width: float
    height: float


@dataclass(frozen=True)
class Spread:
    """Bars, and marks at the days asked for, in shares of the drawing.

    The drawing runs from `first` to `last` working days; `days` are what the marks stand for.
    """

    bars: tuple[Bar, ...]
    marks: tuple[float, ...]
    days: tuple[int, ...]
    first: int
    last: int


def spread_of(samples: Sequence[int], days: Sequence[int]) -> Spread:
    """The spread of forecast working days, with a mark at the end of each of `days`."""
    ordered = sorted(samples)
    first = ordered[0]
    last = max(ordered[int(TAIL * (len(ordered) - 1))], *days)
    step = -(-(last - first + 1) // BARS)
    count = -(-(last - first + 1) // step)
    heights = [0] * count
    for value in ordered:
        if value <= last:
            heights[(value - first) // step] += 1
    highest = max(heights)
    bars = tuple(
        Bar(place / count, 1 / count, height / highest) for place, height in enumerate(heights)
    )
    whole = count * step
    marks = tuple(min((one - first + 1) / whole, 1.0) for one in days)
    return Spread(bars, marks, tuple(days), first, first + whole - 1)

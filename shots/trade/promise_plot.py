"""Geometry of a production's record: the dates promised each evening, and what happened.

Everything lies in a unit box: x is the evening, y the date promised, later dates higher.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from studio.trade.fan import ONE_DAY, DateTick, Point, date_ticks


@dataclass(frozen=True)
class Said:
    """What was promised one evening; a date is None where none could be given."""

    evening: date
    even: date | None
    likely: date | None
    deadline: date | None


@dataclass(frozen=True)
class PromisePlot:
    """Lines of points and axis marks in the unit box; empty lines draw nothing."""

    even: tuple[Point, ...]
    likely: tuple[Point, ...]
    deadline: tuple[Point, ...]
    finished_y: float | None
    evening_ticks: tuple[DateTick, ...]
    date_ticks: tuple[DateTick, ...]


def promise_plot(said: Sequence[Said], finished: date | None) -> PromisePlot | None:
    """Draw how the promise moved, evenings in order; None where no date was ever promised."""
    dated = [one for one in said if one.even and one.likely]
    if not dated:
        return None
    first = dated[0].evening
    last = max(dated[-1].evening, first + ONE_DAY)
    dates = [one.even for one in dated] + [one.likely for one in dated]
    dates += [one.deadline for one in dated if one.deadline]
    if finished:
        dates.append(finished)
    low = min(dates) - ONE_DAY
    high = max(dates) + ONE_DAY

    def point(evening: date, promised: date) -> Point:
        return ((evening - first) / (last - first), (promised - low) / (high - low))

    return PromisePlot(
        even=tuple(point(one.evening, one.even) for one in dated),
        likely=tuple(point(one.evening, one.likely) for one in dated),
        deadline=tuple(point(one.evening, one.deadline) for one in dated if one.deadline),
        finished_y=point(first, finished)[1] if finished else None,
        evening_ticks=date_ticks(first, last),
        date_ticks=date_ticks(low, high),
    )

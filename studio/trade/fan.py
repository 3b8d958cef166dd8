"""Geometry of the fan: kept pictures day by day, the budget, and where the shooting will end.

Everything lies in a unit box: x runs from the first date (0) to the last (1), y from no pictures
(0, at the bottom) to the top of the scale (1). A day's figure stands at the end of that day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

ONE_DAY = timedelta(days=1)
MOST_DATE_TICKS = 8
MOST_PICTURE_TICKS = 7  # with the one at 0
_STEPS_IN_DAYS = (1, 2, 7, 14, 28, 56, 91, 182, 364)

Point = tuple[float, float]


class FanError(ValueError):
    """Figures that cannot be drawn; the message says which day and why."""


@dataclass(frozen=True)
class KeptDay:
    """Pictures kept in the film so far, at the end of a day."""

    day: date
    total: int


@dataclass(frozen=True)
class BudgetStep:
    """The picture budget from a day on."""

    day: date
    pictures: int


@dataclass(frozen=True)
class ForecastDay:
    """Pictures kept so far at the end of a day ahead: unlikely few, even chance, unlikely many."""

    day: date
    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class DateTick:
    """A date on the x axis, `at` 0 to 1."""

    at: float
    day: date


@dataclass(frozen=True)
class PictureTick:
    """A number of pictures on the y axis, `at` 0 to 1."""

    at: float
    pictures: int


@dataclass(frozen=True)
class Fan:
    """Lines of points, a closed band, and axis marks, in the unit box; empty lines draw nothing."""

    first_day: date
    last_day: date
    kept: tuple[Point, ...]
    budget: tuple[Point, ...]
    middle: tuple[Point, ...]
    band: tuple[Point, ...]
    today_x: float
    deadline_x: float | None
    date_ticks: tuple[DateTick, ...]
    picture_ticks: tuple[PictureTick, ...]


@dataclass(frozen=True)
class _Box:
    first: date
    last: date
    top: int

    def x(self, day: date) -> float:
        return (day - self.first) / (self.last - self.first)

    def point(self, day: date, pictures: float) -> Point:
        return (self.x(day), pictures / self.top)


def fan(
    kept: Sequence[KeptDay],
    budget: Sequence[BudgetStep],
    forecast: Sequence[ForecastDay],
    deadline: date | None,
    today: date,
) -> Fan:
    """Draw what was kept, what is budgeted and what is foreseen, each in any order of days.

    The box reaches from the day before the first session to the last date of all, and always holds
    today and the deadline, past or not; a budget set before it begins at its left edge.

    Raises FanError for a negative count and for a forecast whose low, middle and high are not in
    that order.
    """
    kept = sorted(kept, key=lambda each: each.day)
    budget = sorted(budget, key=lambda each: each.day)
    forecast = sorted(forecast, key=lambda each: each.day)
    _check(kept, budget, forecast)
    days = [today, *(each.day for each in (*kept, *forecast))]
    if kept:
        days.append(kept[0].day - ONE_DAY)
    if deadline:
        days.append(deadline)
    most = max(
        [1.0, *(k.total for k in kept), *(b.pictures for b in budget), *(f.high for f in forecast)]
    )
    step = _picture_step(most)
    top = step * ceil(most / step)
    box = _Box(min(days), max(*days, min(days) + ONE_DAY), top)
    ahead = _with_start(kept, forecast)
    return Fan(
        first_day=box.first,
        last_day=box.last,
        kept=_kept_line(kept, box),
        budget=_budget_line(budget, box),
        middle=tuple(box.point(f.day, f.middle) for f in ahead),
        band=(
            *(box.point(f.day, f.low) for f in ahead),
            *(box.point(f.day, f.high) for f in reversed(ahead)),
        ),
        today_x=box.x(today),
        deadline_x=box.x(deadline) if deadline else None,
        date_ticks=date_ticks(box.first, box.last),
        picture_ticks=tuple(PictureTick(n / top, n) for n in range(0, top + 1, step)),
    )


def _check(kept: list[KeptDay], budget: list[BudgetStep], forecast: list[ForecastDay]) -> None:
    for each in kept:
        if each.total < 0:
            raise FanError(f"Kept pictures start at 0, got {each.total} on {each.day}.")
    for each in budget:
        if each.pictures < 0:
            raise FanError(f"A picture budget starts at 0, got {each.pictures} on {each.day}.")
    for each in forecast:
        if not 0 <= each.low <= each.middle <= each.high < float("inf"):
            raise FanError(
                f"The forecast for {each.day} must rise from low to high, got {each.low:g}, "
                f"{each.middle:g}, {each.high:g}."
            )


def _with_start(kept: list[KeptDay], forecast: list[ForecastDay]) -> list[ForecastDay]:
    """The forecast opened from the last day that is known, where there is one."""
    if not forecast or not kept or kept[-1].day >= forecast[0].day:
        return forecast
    last = kept[-1]
    return [ForecastDay(last.day, last.total, last.total, last.total), *forecast]


def _kept_line(kept: list[KeptDay], box: _Box) -> tuple[Point, ...]:
    """Flat over days without a session, rising over each day with one."""
    points: list[Point] = []
    before = 0
    for each in kept:
        start = box.point(each.day - ONE_DAY, before)
        if not points or start != points[-1]:
            points.append(start)
        points.append(box.point(each.day, each.total))
        before = each.total
    return tuple(points)


def _budget_line(budget: list[BudgetStep], box: _Box) -> tuple[Point, ...]:
    points: list[Point] = []
    for each in budget:
        x, y = box.point(min(max(each.day, box.first), box.last), each.pictures)
        if points and points[-1][0] == x:
            points.pop()
        if points:
            points.append((x, points[-1][1]))
        points.append((x, y))
    if points:
        points.append((1.0, points[-1][1]))
    return tuple(points)


def _picture_step(most: float) -> int:
    """The smallest of 1, 2, 5, 10, 20, 50... that needs few enough marks."""
    step = 1
    while most > step * (MOST_PICTURE_TICKS - 1):
        step = step * 5 // 2 if str(step)[0] == "2" else step * 2
    return step


def date_ticks(first: date, last: date) -> tuple[DateTick, ...]:
    """Dates to write along an axis from `first` (at 0) to `last` (at 1): Mondays, mostly."""
    span = (last - first).days
    fitting = (step for step in _STEPS_IN_DAYS if span // step < MOST_DATE_TICKS)
    step = next(fitting, None) or _STEPS_IN_DAYS[-1] * (span // (7 * _STEPS_IN_DAYS[-1]) + 1)
    to_monday = -first.weekday() % 7 if step >= 7 else 0
    return tuple(DateTick(n / span, first + n * ONE_DAY) for n in range(to_monday, span + 1, step))

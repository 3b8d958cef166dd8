"""On which days shots start that follow each other without a break."""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date
from itertools import accumulate

from shots.trade.plan.asked import ShotToPlan, WorkingDay
from shots.trade.plan.pieces import SCRAP
from shots.trade.plan.problem import minutes


def following_days(
    shots: Sequence[ShotToPlan], days: Sequence[WorkingDay], building: float
) -> dict[str, date | None]:
    """The day each shot starts on, by code, in this order from the start of the first day on.

    `building` is hours to build their set-up first. None where the days are over. What they wait
    for and who is there is not looked at: the plan says where a pin cannot hold.
    """
    ends = list(accumulate(minutes(day.hours) for day in days))
    closes = {day.date: end for day, end in zip(days, ends, strict=True)}
    start, starts = minutes(building), {}
    for shot in shots:
        lasts = minutes(shot.hours)
        day = _day_at(start, ends, days)
        room = closes[day] - start if day else 0
        if room < min(SCRAP, lasts):
            start += room
            day = _day_at(start, ends, days)
        starts[shot.code] = day
        start += lasts
    return starts


def _day_at(minute: int, ends: Sequence[int], days: Sequence[WorkingDay]) -> date | None:
    place = bisect_right(ends, minute)
    return days[place].date if place < len(days) else None

"""The fan: kept pictures day by day so far, and the band of where they will go."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from shots.trade.forecast.beliefs import believe
from shots.trade.forecast.engine import DRAWS
from shots.trade.forecast.futures import simulate
from shots.trade.forecast.history import History, quantile

LEVELS = (0.1, 0.5, 0.9)
MOST_POINTS = 60  # more cannot be told apart on a page


@dataclass(frozen=True)
class FanDay:
    """Kept pictures, all told, at the end of a date: a quantile for each of LEVELS."""

    date: date
    kept: tuple[float, ...]


@dataclass(frozen=True)
class Fan:
    """`so_far` are dates with the pictures kept by then, `ahead` the band from `as_of` on."""

    so_far: tuple[tuple[date, float], ...]
    ahead: tuple[FanDay, ...]
    budgeted: float  # pictures of all shots, as budgeted now
    deadline: date | None


def fan(history: History, seed: int = 0, draws: int = DRAWS) -> Fan:
    """The band ends where 19 of 20 futures are done; empty ahead where dates cannot be given."""
    kept = sum(shot.pictures_kept for shot in history.shots)
    return Fan(
        so_far=kept_so_far(history, kept),
        ahead=_ahead(history, kept, seed, draws) if history.shots_left else (),
        budgeted=sum(shot.pictures_budgeted for shot in history.shots),
        deadline=history.deadline,
    )


def kept_so_far(history: History, kept: float) -> tuple[tuple[date, float], ...]:
    """Logged pictures of today's shots, added up; retakes show on the last day, `as_of`."""
    codes = {shot.code for shot in history.shots}
    points: dict[date, float] = {}
    total = 0.0
    for session in sorted(history.sessions, key=lambda one: one.date):
        if session.date > history.as_of:
            continue
        if not points:
            points[session.date - timedelta(days=1)] = 0.0
        total += sum(output.kept for output in session.output if output.shot in codes)
        points[session.date] = total
    points[history.as_of] = kept
    return tuple(points.items())


def _ahead(history: History, kept: float, seed: int, draws: int) -> tuple[FanDay, ...]:
    futures = simulate(history, believe(history), seed, draws)
    need = futures.work + futures.setups
    last = quantile(futures.days, 0.95)
    days = sorted(set(np.linspace(0, last, min(last + 1, MOST_POINTS)).round().astype(int)))
    band = []
    for day in days:
        date_then = history.calendar.date_after(history.as_of, int(day))
        if date_then is None:
            return ()
        share = np.minimum(futures.capacity_on(int(day)) / need, 1.0)
        levels = np.quantile(kept + futures.pictures * share, LEVELS)
        band.append(FanDay(date_then, tuple(levels.tolist())))
    return tuple(band)

"""Kept pictures day by day so far, and the band of where they will go: what the fan draws."""

import numpy as np

from shots.trade.forecast.beliefs import believe
from shots.trade.forecast.engine import DRAWS
from shots.trade.forecast.futures import simulate
from shots.trade.forecast.history import History, quantile
from shots.trade.forecast_record import Correction
from studio.trade.fan import ForecastDay, KeptDay

LEVELS = (0.1, 0.5, 0.9)
MOST_POINTS = 60  # more cannot be told apart on a page


def kept_so_far(history: History) -> tuple[KeptDay, ...]:
    """Logged pictures of the shots there are, added up; retakes show on the last day, `as_of`."""
    codes = {shot.code for shot in history.shots}
    totals = {}
    total = 0.0
    for session in sorted(history.sessions, key=lambda one: one.date):
        if session.date <= history.as_of:
            total += sum(output.kept for output in session.output if output.shot in codes)
            totals[session.date] = total
    if totals:
        totals[history.as_of] = sum(shot.pictures_kept for shot in history.shots)
    return tuple(KeptDay(day, round(total)) for day, total in totals.items())


def band_ahead(
    history: History, seed: int = 0, draws: int = DRAWS, correction: Correction | None = None
) -> tuple[ForecastDay, ...]:
    """Kept pictures on days ahead, at LEVELS, until 19 of 20 futures are done.

    Opens from what is kept on `as_of`. Empty when all shots are done or no date can be given.
    """
    if not history.shots_left:
        return ()
    kept = sum(shot.pictures_kept for shot in history.shots)
    futures = simulate(history, believe(history), seed, draws)
    need = futures.work + futures.setups
    last = quantile(correction.days(futures.days) if correction else futures.days, 0.95)
    levels = _slower(correction) if correction else LEVELS
    if history.day_after(last) is None:
        return ()
    days = np.unique(np.linspace(0, last, min(last + 1, MOST_POINTS)).round().astype(int))
    band = []
    for day in days.tolist():
        share = np.minimum(futures.capacity_on(day) / need, 1.0)
        low, middle, high = np.quantile(kept + futures.pictures * share, levels).tolist()
        band.append(ForecastDay(history.day_after(day), low, middle, high))
    return tuple(band)


def _slower(correction: Correction) -> tuple[float, ...]:
    """LEVELS as the record corrects them: few pictures by a day are many days to a picture."""
    return tuple(1 - correction.level(1 - level) for level in LEVELS)

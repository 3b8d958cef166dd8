"""The forecasts to beat: remaining over mean, and a careful planner."""

import math
from statistics import NormalDist

import numpy as np

from shots.trade.forecast.history import History


def remaining_over_mean(history: History) -> float:
    """Pictures left over the mean of a session; before the first result, quoted hours."""
    kept = sum(session.kept for session in history.sessions)
    if kept == 0:
        return quoted_hours_left(history) / history.calendar.hours_per_day
    return history.pictures_left / (kept / len(history.sessions))


def quoted_hours_left(history: History) -> float:
    paces = history.assumed_pictures_per_hour
    return sum(
        max(s.pictures_budgeted - s.pictures_kept, 0) / paces[s.difficulty]
        for s in history.shots_left
    )


NORMAL_QUANTILES = np.array([NormalDist().inv_cdf((n + 0.5) / 199) for n in range(199)])


def planner(history: History) -> np.ndarray:
    """Days left by a careful planner, as 199 quantiles of a lognormal.

    Work in quoted hours; hours earned a day pooled with four days at 0.55 × planned hours.
    """
    paces = history.assumed_pictures_per_hour
    difficulty = {shot.code: shot.difficulty for shot in history.shots}
    earned = sum(
        output.kept / paces[difficulty[output.shot]]
        for session in history.sessions
        for output in session.output
    )
    elapsed = 0
    if history.sessions:
        first = history.sessions[0].date
        elapsed = history.calendar.count(first, history.as_of) + 1
    a_day = (4 * 0.55 * history.calendar.hours_per_day + earned) / (4 + elapsed)
    days = quoted_hours_left(history) / a_day
    sd = math.sqrt(0.12**2 + 0.45**2 / (1 + elapsed / 4) + 0.45**2 / max(days, 1))
    return days * np.exp(sd * NORMAL_QUANTILES)

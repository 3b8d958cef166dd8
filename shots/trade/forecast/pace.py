"""Pace: from the quote, from finished productions, and from the days shot so far.

Work is counted in hours at a prior speed (pictures per hour by difficulty), so an easy picture
weighs less than a hard one. A day of `e` shooting hours that kept n pictures of speed λ did
`z = Σ n/λ / e` hours of such work per hour. Taken as `E z = exp(η)`, never log z, sums stay right
on average and a slow day is taken as it is. A day is about one observation however many pictures
it has: the spread is from day to day, not from picture to picture.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from shots.trade.forecast.history import History, PastProduction, Production
from shots.trade.forecast.shooting_days import ShootingDay, shooting_days
from studio.trade.calendar import WorkCalendar

# Habits of the trade to start from: common practice, no source.
QUOTE_BIAS, QUOTE_BIAS_SD = -0.12, 0.30  # quotes are optimistic: log(actual / quoted pace)
PRODUCTION_SD = 0.25  # one production of a studio against another, log
DIFFICULTY_SD = 0.20  # one difficulty against its assumed pace, log
DRIFT_SD, DRIFT_DAYS = 0.25, 15.0  # slow good and bad spells: size (log), and length in days
DAY_SD, DAY_SD_WEIGHT = 0.40, 8.0  # one day against another, and the days that guess is worth
NEW_QUOTE_SHARE = 0.8  # weight of the new quote; the rest is the pace of past productions
UNKNOWN_PACE = 10.0  # pictures per hour where nobody assumed anything
ROUNDS = 4  # of re-weighting; more change nothing that matters


@dataclass(frozen=True)
class Pace:
    """Pace against the prior speed, in logs, as one joint normal.

    Order of `mean` (and both sides of `covariance`): the production's own level, the slow drift
    as it stands today, then the deviation of each of `difficulties`. `speeds` are the prior ones,
    pictures per hour. `day_variance` is that of one day's z / exp(η).
    """

    difficulties: tuple[str, ...]
    speeds: tuple[float, ...]
    mean: np.ndarray
    covariance: np.ndarray
    day_variance: float

    def expected(self) -> dict[str, float]:
        """Pictures per hour expected from tomorrow on, by difficulty, without set-up time."""
        logs = self.mean[0] + self.mean[1] + self.mean[2:]
        return {
            name: speed * math.exp(log)
            for name, speed, log in zip(self.difficulties, self.speeds, logs, strict=True)
        }


def pace_so_far(history: History) -> Pace:
    """What is known of the pace at the end of the day `history.as_of`."""
    names = difficulties(history)
    speeds, level_variance = prior_speeds(history, names)
    days = shooting_days(history, history.as_of)
    return fit(names, speeds, level_variance, days, history.calendar, history.as_of)


def difficulties(production: Production) -> tuple[str, ...]:
    """In order of first use: a new name for a difficulty changes nothing, nor does a new shot."""
    return tuple(dict.fromkeys(shot.difficulty for shot in production.shots))


def quoted_paces(production: Production, names: tuple[str, ...]) -> tuple[float, ...]:
    """Assumed pictures per hour of each name; where missing, the geometric mean of the others."""
    assumed = production.assumed_pictures_per_hour
    logs = [math.log(pace) for pace in assumed.values()]
    middle = math.exp(sum(logs) / len(logs)) if logs else UNKNOWN_PACE
    return tuple(assumed.get(name, middle) for name in names)


def prior_speeds(history: History, names: tuple[str, ...]) -> tuple[tuple[float, ...], float]:
    """Speed of each difficulty before the first session, and the variance of their common level.

    The quote, corrected by how optimistic this studio's quotes were, and pulled a little towards
    the pace its past productions had.
    """
    bias, variance = QUOTE_BIAS, QUOTE_BIAS_SD**2
    lessons = [lesson for past in history.past_productions if (lesson := lesson_of(past))]
    for lesson in lessons:
        gain = variance / (variance + PRODUCTION_SD**2 + lesson.variance)
        bias += gain * (lesson.log_ratio - bias)
        variance *= 1 - gain
    speeds = []
    for name, quote in zip(names, quoted_paces(history, names), strict=True):
        log_speed = math.log(quote) + bias
        known = [lesson for lesson in lessons if name in lesson.deviations]
        if known:
            deviation = sum(one.deviations[name] for one in known) / len(known)
            past = sum(one.log_speeds[name] for one in known) / len(known)
            log_speed = NEW_QUOTE_SHARE * (log_speed + deviation) + (1 - NEW_QUOTE_SHARE) * past
        speeds.append(math.exp(log_speed))
    return tuple(speeds), PRODUCTION_SD**2 + variance


@dataclass(frozen=True)
class Lesson:
    """What one finished production says of the next quote, in logs."""

    log_ratio: float  # actual / quoted pace
    variance: float  # of log_ratio, as an average of few days and of a good or bad spell
    deviations: Mapping[str, float]  # each difficulty against that ratio
    log_speeds: Mapping[str, float]  # pictures per hour of each difficulty


def lesson_of(past: PastProduction) -> Lesson | None:
    """None where the past production has no day with a result."""
    days = [day for day in shooting_days(past) if day.shooting_hours > 0 and day.has_result]
    if not days:
        return None
    names = difficulties(past)
    quoted = quoted_paces(past, names)
    work, _ = _work_and_shares(days, names, quoted)
    ratio = math.log(work.sum() / sum(day.shooting_hours for day in days))
    at_ratio = tuple(quote * math.exp(ratio) for quote in quoted)
    last = days[-1].date
    deviations = fit(names, at_ratio, PRODUCTION_SD**2, days, past.calendar, last).mean[2:]
    spell = DRIFT_SD**2 * min(1.0, 2 * DRIFT_DAYS / len(days))
    return Lesson(
        log_ratio=ratio,
        variance=DAY_SD**2 / len(days) + spell,
        deviations=dict(zip(names, deviations, strict=True)),
        log_speeds=dict(zip(names, np.log(at_ratio) + deviations, strict=True)),
    )


def fit(
    names: tuple[str, ...],
    speeds: tuple[float, ...],
    level_variance: float,
    days: list[ShootingDay],
    calendar: WorkCalendar,
    today: date,
) -> Pace:
    """Bayesian regression of the days' z on level, difficulties and drift, by re-weighting.

    `η = level + Σ w δ + u` with w the day's shares of work by difficulty and u the drift, whose
    covariance between working days i and j is DRIFT_SD² exp(-|i-j| / DRIFT_DAYS). Sessions
    without result are left out here: they are counted as such, by their share.
    """
    variances = [level_variance, DRIFT_SD**2, *[DIFFICULTY_SD**2] * len(names)]
    prior = np.diag(variances)
    days = [day for day in days if day.shooting_hours > 0 and day.has_result]
    if not days or not names:
        return Pace(names, speeds, np.zeros(len(variances)), prior, DAY_SD**2)
    work, shares = _work_and_shares(days, names, speeds)
    hours = np.array([day.shooting_hours for day in days])
    z = work / hours
    # Working days before today; a session on a free day falls between two of them.
    ages = np.array([calendar.count(day.date, today) for day in days], dtype=float)
    drift = DRIFT_SD**2 * np.exp(-np.abs(ages[:, None] - ages[None, :]) / DRIFT_DAYS)
    of_days = level_variance + DIFFICULTY_SD**2 * shares @ shares.T + drift
    between = np.vstack(  # covariance of the unknowns with the days' η
        [
            np.full(len(days), level_variance),
            DRIFT_SD**2 * np.exp(-ages / DRIFT_DAYS),
            DIFFICULTY_SD**2 * shares.T,
        ]
    )
    # A short day says less than a full one.
    shortness = np.clip(0.5 + 0.5 * calendar.hours_per_day / hours, 0.75, 4.0)
    # Begin at the pace of all days together, so that even a quote ten times off is forgotten.
    eta = np.full(len(days), math.log(work.sum() / hours.sum()))
    day_variance = DAY_SD**2
    for _ in range(ROUNDS):
        residual = np.clip(z / np.exp(eta) - 1, -1.0, 2.0)
        noisy = of_days + np.diag(day_variance * shortness)
        weights = np.linalg.solve(noisy, eta + residual)
        eta = of_days @ weights
        residual = np.clip(z / np.exp(eta) - 1, -1.0, 2.0)
        total = DAY_SD_WEIGHT * DAY_SD**2 + np.sum(residual**2 / shortness)
        day_variance = float(total / (DAY_SD_WEIGHT + len(days)))
    covariance = prior - between @ np.linalg.solve(noisy, between.T)
    return Pace(names, speeds, between @ weights, covariance, day_variance)


def _work_and_shares(
    days: list[ShootingDay], names: tuple[str, ...], speeds: tuple[float, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """Hours of work at `speeds` done each day, and its shares by difficulty (days × names).

    Pictures of a deleted shot, whose difficulty nobody knows any more, count at the middle speed.
    """
    kept = np.array([[day.kept.get(name, 0.0) for name in names] for day in days])
    by_difficulty = kept / np.array(speeds)
    middle = math.exp(sum(map(math.log, speeds)) / len(speeds))
    deleted = np.array([day.kept.get(None, 0.0) for day in days]) / middle
    work = by_difficulty.sum(axis=1) + deleted
    return work, by_difficulty / work[:, None]

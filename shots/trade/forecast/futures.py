"""Futures of a production: work left, day by day capacity, and the day they meet.

Every purpose has its own stream of random numbers and every spread is a shift of the same draws.
So two histories that differ in one thing are compared on the same luck: adding a shot never
shortens, and a what-if shows its own effect and no noise.
"""

import math
from dataclasses import dataclass

import numpy as np

from shots.trade.forecast.beliefs import (
    GROWTH_SHOT_SD,
    HOURS_SPREAD,
    RETAKE_DAYS,
    SETUP_SPREAD,
    Beliefs,
    Share,
    setups_left,
)
from shots.trade.forecast.history import History
from shots.trade.forecast.pace import DRIFT_DAYS, DRIFT_SD
from shots.trade.forecast.shooting_days import last_output

UNFORESEEN, UNFORESEEN_SD = 0.06, 0.12  # log of work nobody thought of: common practice
SINGLE_DAYS = 36  # the first days one by one, later ones in blocks of a twelfth of the way so far
LONGEST = 100_000  # working days; whoever needs more will never finish


@dataclass(frozen=True)
class Futures:
    """Simulated futures; each array has one entry for each draw unless said otherwise.

    A *full day* is a day with a session and a result, at the draw's own level of pace and without
    drift: what a day gives, and what work and set-ups need, are both counted in it.
    """

    days: np.ndarray  # whole working days left
    sessions: np.ndarray  # of those, days with a session
    pictures: np.ndarray  # pictures to keep until the end
    work: np.ndarray  # full days of shooting needed
    setups: np.ndarray  # full days of set-ups needed
    block_ends: np.ndarray  # working days from today, (blocks,)
    capacity: np.ndarray  # full days given by each block's end, (blocks, draws)

    def capacity_on(self, day: int) -> np.ndarray:
        """Full days given by the end of working day number `day`, which was simulated."""
        if day <= 0:
            return np.zeros_like(self.work)
        n = int(np.searchsorted(self.block_ends, day))
        end, done = self.block_ends[n], self.capacity[n]
        if end == day:
            return done
        start = self.block_ends[n - 1]
        before = self.capacity[n - 1]
        return before + (done - before) * ((day - start) / (end - start))


def simulate(
    history: History,
    beliefs: Beliefs,
    seed: int,
    draws: int,
    until_day: int = 0,
    extra_days: float = 0.0,
) -> Futures:
    """Draw `draws` futures of the shots left, which must be at least one.

    `extra_days` are full days of shooting that others do; `until_day` is how far the capacity is
    wanted even where everything is done sooner.
    """
    luck = Luck(seed, draws)
    level, drift, deviations = draw_pace(beliefs, luck)
    pictures, shooting_hours = draw_shooting(history, beliefs, deviations, luck)
    setup_hours = draw_setups(history, beliefs, luck)
    hours = history.calendar.hours_per_day * beliefs.hours.mean
    hours = hours * np.exp(
        HOURS_SPREAD / math.sqrt(beliefs.hours.occasions) * luck.normals("hours")
    )
    empty = luck.share("empty", beliefs.empty)
    work = shooting_hours / (hours * np.exp(level))
    work = np.maximum(work - extra_days, 1e-6)
    # Set-ups take clock hours whatever the pace; they cannot lack a result. The drift that
    # rules meanwhile is on its way from today's back to none.
    setups = setup_hours * (1 - empty) * np.exp(drift / 2) / hours
    lost = luck.share("lost", beliefs.lost)
    variance = beliefs.pace.day_variance + HOURS_SPREAD**2
    return _run(luck, work, setups, pictures, drift, lost, empty, variance, until_day)


class Luck:
    """Random numbers, a stream of its own for each purpose."""

    PURPOSES = (
        "pace", "growth", "fresh", "begun", "retake", "retake size", "unforeseen",
        "setup", "setup mean", "hours", "empty", "lost", "drift", "day", "worked",
    )  # fmt: skip

    def __init__(self, seed: int, draws: int):
        self.seed = seed
        self.draws = draws

    def stream(self, purpose: str) -> np.random.Generator:
        return np.random.default_rng([self.PURPOSES.index(purpose), self.seed])

    def normals(self, purpose: str, rows: int | None = None) -> np.ndarray:
        """(draws,) or (rows, draws): more rows leave the first ones as they were."""
        size = self.draws if rows is None else (rows, self.draws)
        return self.stream(purpose).standard_normal(size, dtype=np.float32)

    def share(self, purpose: str, share: Share) -> np.ndarray:
        return self.stream(purpose).beta(share.happened, share.did_not, self.draws)


def gamma_from_normal(
    mean: np.ndarray | float, variance: np.ndarray | float, z: np.ndarray
) -> np.ndarray:
    """Gamma values for standard normal ones (Wilson and Hilferty 1931), never below zero."""
    ninth = variance / (9 * mean**2)
    root = np.maximum(1 - ninth + z * np.sqrt(ninth), 0)
    return mean * (root * root * root)


def draw_pace(beliefs: Beliefs, luck: Luck) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Level (draws,), today's drift (draws,) and deviations (difficulties, draws), in logs."""
    size = len(beliefs.pace.mean)
    root = np.linalg.cholesky(beliefs.pace.covariance + 1e-9 * np.eye(size))
    drawn = beliefs.pace.mean[:, None] + root @ luck.normals("pace", size)
    return drawn[0], drawn[1], drawn[2:]


def draw_shooting(
    history: History, beliefs: Beliefs, deviations: np.ndarray, luck: Luck
) -> tuple[np.ndarray, np.ndarray]:
    """Pictures left, and shooting hours they take at the prior speed and level zero."""
    names, speeds = beliefs.pace.difficulties, beliefs.pace.speeds
    growth = np.exp(beliefs.growth.mean + beliefs.growth.sd * luck.normals("growth"))
    by_difficulty = np.zeros((len(names), luck.draws))
    fresh_noise = np.clip(luck.normals("fresh", len(names)), -3.5, None)
    for n, name in enumerate(names):
        budgets = [
            shot.pictures_budgeted
            for shot in history.shots_left
            if shot.difficulty == name and shot.pictures_kept == 0
        ]
        # One normal for the sum of many shots: its spread is the root of the sum of squares.
        spread = GROWTH_SHOT_SD * math.sqrt(sum(budget**2 for budget in budgets))
        by_difficulty[n] = growth * np.maximum(sum(budgets) + spread * fresh_noise[n], 0)
    begun = [shot for shot in history.shots_left if shot.pictures_kept > 0]
    for shot, noise in zip(begun, luck.normals("begun", len(begun)), strict=True):
        final = shot.pictures_budgeted * growth * np.exp(GROWTH_SHOT_SD * noise)
        # Whatever its budget said, a shot that is not done lacks at least one picture.
        by_difficulty[names.index(shot.difficulty)] += np.maximum(final - shot.pictures_kept, 1)
    hours = by_difficulty / np.array(speeds)[:, None] * np.exp(-deviations)
    total = hours.sum(axis=0)
    again = draw_retakes(history, beliefs, deviations, luck)
    unforeseen = np.exp(UNFORESEEN + UNFORESEEN_SD * luck.normals("unforeseen"))
    pictures = by_difficulty.sum(axis=0) * (1 + again / np.maximum(total, 1e-9))
    return pictures, (total + again) * unforeseen


def draw_retakes(
    history: History, beliefs: Beliefs, deviations: np.ndarray, luck: Luck
) -> np.ndarray:
    """Shooting hours, at the prior speed and level zero, that shots taken again will cost."""
    names, speeds = beliefs.pace.difficulties, beliefs.pace.speeds
    last = last_output(history, history.as_of)
    hours, squares = np.zeros(len(names)), np.zeros(len(names))
    for shot in history.shots:
        weight = 1.0
        if shot.done:
            finished = last.get(shot.code)
            days = history.calendar.count(finished, history.as_of) if finished else math.inf
            weight = math.exp(-days / RETAKE_DAYS)
        n = names.index(shot.difficulty)
        whole = max(shot.pictures_budgeted, shot.pictures_kept) / speeds[n]
        hours[n] += weight * whole
        squares[n] += weight * whole**2
    slower = np.exp(-deviations)
    chance = luck.share("retake", beliefs.retake)
    size = beliefs.retake_size.mean
    # The sum of rare retakes as a Gamma of its mean and variance; sizes vary by a fifth of size².
    return gamma_from_normal(
        np.maximum(chance * size * (hours @ slower), 1e-9),
        chance * 1.2 * size**2 * (squares @ slower**2),
        luck.normals("retake size"),
    )


def draw_setups(history: History, beliefs: Beliefs, luck: Luck) -> np.ndarray:
    """Hours of set-ups to come."""
    left = setups_left(history)
    doubt = SETUP_SPREAD / math.sqrt(beliefs.setup.occasions)
    each = beliefs.setup.mean * np.exp(doubt * luck.normals("setup mean") - doubt**2 / 2)
    if left == 0:
        return np.zeros(luck.draws)
    return gamma_from_normal(left * each, left * (SETUP_SPREAD * each) ** 2, luck.normals("setup"))


def _run(
    luck: Luck,
    work: np.ndarray,
    setups: np.ndarray,
    pictures: np.ndarray,
    drift: np.ndarray,
    lost: np.ndarray,
    empty: np.ndarray,
    variance: float,
    until_day: int,
) -> Futures:
    """Let days pass until every draw has done its work and its set-ups.

    A day gives `a session with a result (or not) × the day's luck × exp(drift)` full days.
    """
    need, drift, lost = (a.astype(np.float32) for a in (work + setups, drift, lost))
    result = (1 - lost) * (1 - empty.astype(np.float32))  # chance of a day with a result
    drifts, day_luck, worked = (luck.stream(name) for name in ("drift", "day", "worked"))
    given = np.zeros_like(need)
    days = np.zeros(luck.draws, dtype=np.int64)
    sessions = np.zeros_like(need)
    unfinished = np.ones(luck.draws, dtype=bool)
    day, ends, capacity = 0, [], []
    while (unfinished.any() and day < LONGEST) or day < until_day:
        block = 1 if day < SINGLE_DAYS else day // 12
        keep = math.exp(-block / DRIFT_DAYS)
        shift = DRIFT_SD * math.sqrt(1 - keep**2)
        drift = keep * drift + shift * drifts.standard_normal(luck.draws, dtype=np.float32)
        z = day_luck.standard_normal(luck.draws, dtype=np.float32)
        chance = worked.random(luck.draws, dtype=np.float32)
        if block == 1:
            met = chance >= lost
            gain = (chance >= 1 - result) * gamma_from_normal(1.0, variance, z)
        else:
            met = block * (1 - lost)
            gain = gamma_from_normal(block * result, block * result * (variance + 1 - result), z)
        gain *= np.exp(drift)
        after = given + gain
        ready = np.flatnonzero(unfinished & (after >= need))
        within = np.ones_like(need)  # share of this block needed
        within[ready] = np.ceil(block * (need[ready] - given[ready]) / gain[ready]) / block
        days[ready] = day + np.rint(within[ready] * block).astype(np.int64)
        sessions += unfinished * met * within
        unfinished[ready] = False
        given = after
        day += block
        ends.append(day)
        capacity.append(given)
    days[unfinished] = LONGEST
    return Futures(
        days=days,
        sessions=np.maximum(np.rint(sessions).astype(np.int64), 1),
        pictures=pictures,
        work=work,
        setups=setups,
        block_ends=np.array(ends),
        capacity=np.stack(capacity),
    )

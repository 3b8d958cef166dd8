"""What a history teaches besides pace: growth, retakes, set-ups, lost and empty days, hours.

Each belief starts from a habit of the trade (common practice, no source: a studio's own
productions soon outweigh it), is moved by the finished productions, then by the running one.
"""

import math
from dataclasses import dataclass
from datetime import date

from shots.trade.forecast.history import History, Production, Shot
from shots.trade.forecast.pace import Pace, pace_so_far
from shots.trade.forecast.shooting_days import (
    ShootingDay,
    empty_days,
    hours_kept_to,
    last_output,
    lost_days,
    shooting_days,
)


@dataclass(frozen=True)
class Spread:
    """A belief about one number: its mean and its standard deviation."""

    mean: float
    sd: float

    def after(self, seen: float, sd: float) -> "Spread":
        """Having seen a value whose own standard deviation is `sd` (normal on normal)."""
        gain = self.sd**2 / (self.sd**2 + sd**2)
        return Spread(self.mean + gain * (seen - self.mean), self.sd * math.sqrt(1 - gain))


@dataclass(frozen=True)
class Share:
    """A belief about a chance, as a Beta distribution: times it happened, times it did not."""

    happened: float
    did_not: float

    @property
    def mean(self) -> float:
        return self.happened / (self.happened + self.did_not)

    def after(self, happened: float, of: float, at_most: float = math.inf) -> "Share":
        """Having seen it `happened` times `of`, made to weigh no more than `at_most` times."""
        if of <= 0:
            return self
        weight = min(1.0, at_most / of)
        return Share(self.happened + weight * happened, self.did_not + weight * (of - happened))


@dataclass(frozen=True)
class Average:
    """A belief about an average cost or size, and how many occasions it rests on."""

    mean: float
    occasions: float

    def after(self, total: float, occasions: float, at_most: float = math.inf) -> "Average":
        """Having seen `occasions` that came to `total`, made to weigh no more than `at_most`."""
        if occasions <= 0:
            return self
        weight = min(occasions, at_most)
        together = self.occasions + weight
        mean = (self.mean * self.occasions + total / occasions * weight) / together
        return Average(mean, together)


# Where every studio starts.
GROWTH = Spread(0.04, 0.08)  # log(final / budgeted pictures), the studio's habit
GROWTH_BETWEEN_SD = 0.07  # one production against another
GROWTH_SHOT_SD = 0.20  # one shot against another
RETAKE = Share(1.0, 11.0)  # a finished shot is shot again
RETAKE_DAYS = 5.0  # that chance fades with exp(-working days since finished / 5)
RETAKE_SIZE = Average(0.6, 4.0)  # share of the shot's pictures lost by a retake
SETUP = Average(1.5, 3.0)  # hours for all visits to one set-up
SETUP_SPREAD = 0.7  # one set-up against another: standard deviation / mean
BEGUN_SETUP = 0.3  # of a set-up already begun, what is still to come
LOST = Share(0.8, 9.2)  # a working day passes without a session
EMPTY = Share(0.6, 14.4)  # a session ends without a kept picture
HOURS = Average(0.95, 4.0)  # hours of a shooting day / hours planned
HOURS_SPREAD = 0.15  # one day's hours against another's
PAST_WEIGHT = 15.0  # a finished production weighs at most as much as this many days or shots here


@dataclass(frozen=True)
class Beliefs:
    """Everything the simulation draws from."""

    pace: Pace
    growth: Spread
    retake: Share
    retake_size: Average
    setup: Average
    lost: Share
    empty: Share
    hours: Average


def believe(history: History) -> Beliefs:
    """All beliefs at the end of the day `history.as_of`."""
    growth, retake, retake_size = GROWTH, RETAKE, RETAKE_SIZE
    setup, lost, empty, hours = SETUP, LOST, EMPTY, HOURS
    for past in history.past_productions:
        days = shooting_days(past)
        if not days:
            continue
        end = past.finished or days[-1].date
        growth = grown(growth, past, GROWTH_BETWEEN_SD)
        taken_again, finished, lost_share = retakes(past, end)
        retake = retake.after(taken_again, finished, PAST_WEIGHT)
        retake_size = retake_size.after(lost_share, taken_again, PAST_WEIGHT / 5)
        setup = setup.after(*setup_hours(past, days), PAST_WEIGHT / 2)
        lost = lost.after(*lost_days(past, days, end), PAST_WEIGHT)
        empty = empty.after(*empty_days(days), PAST_WEIGHT)
        hours = hours.after(*hours_kept_to(past, days), PAST_WEIGHT / 3)
    days = shooting_days(history, history.as_of)
    taken_again, finished, lost_share = retakes(history, history.as_of)
    growth = Spread(growth.mean, math.hypot(growth.sd, GROWTH_BETWEEN_SD))
    return Beliefs(
        pace=pace_so_far(history),
        growth=grown(growth, history),
        retake=retake.after(taken_again, finished),
        retake_size=retake_size.after(lost_share, taken_again),
        setup=setup.after(*setup_hours(history, days)),
        lost=lost.after(*lost_days(history, days, history.as_of)),
        empty=empty.after(*empty_days(days)),
        hours=hours.after(*hours_kept_to(history, days)),
    )


def grown(growth: Spread, production: Production, between_sd: float = 0.0) -> Spread:
    """Growth after the finished shots of a production: log(kept / budgeted pictures)."""
    logs = [
        min(max(math.log(shot.pictures_kept / shot.pictures_budgeted), -1.0), 1.0)
        for shot in production.shots
        if shot.done and shot.pictures_kept > 0 and shot.pictures_budgeted > 0
    ]
    if not logs:
        return growth
    sd = math.hypot(GROWTH_SHOT_SD / math.sqrt(len(logs)), between_sd)
    return growth.after(sum(logs) / len(logs), sd)


def retakes(production: Production, today: date) -> tuple[float, float, float]:
    """Shots taken again; finished shots, by how long ago; sum of the shares those lost.

    A retake shows as pictures logged but no longer kept.
    """
    logged: dict[str, float] = {}
    for session in production.sessions:
        if session.date <= today:
            for output in session.output:
                logged[output.shot] = logged.get(output.shot, 0.0) + output.kept
    last = last_output(production, today)
    again = finished = lost = 0.0
    for shot in production.shots:
        gone = logged.get(shot.code, 0.0) - shot.pictures_kept
        if gone >= 1:
            again += 1
            finished += 1
            lost += min(gone / max(shot.pictures_kept, shot.pictures_budgeted, gone), 1.0)
        if shot.done and shot.code in last:
            days = production.calendar.count(last[shot.code], today)
            finished += 1 - math.exp(-days / RETAKE_DAYS)
    return again, max(finished, again), lost


def setup_of(shot: Shot) -> str:
    """A shot without a named set-up needs one of its own."""
    return shot.setup if shot.setup is not None else f"\0{shot.code}"


def setups_left(production: Production) -> float:
    """Set-ups still to be made; one already begun counts as BEGUN_SETUP."""
    begun = {setup_of(s) for s in production.shots if s.done or s.pictures_kept > 0}
    left = {setup_of(shot) for shot in production.shots if not shot.done}
    return len(left - begun) + BEGUN_SETUP * len(left & begun)


def setup_hours(production: Production, days: list[ShootingDay]) -> tuple[float, float]:
    """Hours spent on set-ups so far, and how many set-ups they made."""
    every = {setup_of(shot) for shot in production.shots}
    return sum(day.setup_hours for day in days), len(every) - setups_left(production)

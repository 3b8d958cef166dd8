"""The forecast of one production: from a history to an answer."""

import math
from datetime import date

import numpy as np

from shots.trade.forecast.beliefs import Beliefs, believe
from shots.trade.forecast.futures import LONGEST, Futures, simulate
from shots.trade.forecast.history import Answer, History, PaceNeeded, quantile
from shots.trade.forecast_record import Correction

CHANCES = (0.5, 0.8, 0.95)
WANTED = 0.8  # the chance the needed pace is for
DRAWS = 4000


def forecast(
    history: History, seed: int = 0, draws: int = DRAWS, correction: Correction | None = None
) -> Answer:
    """Working days left, odds of the deadline, pace needed: the same for the same seed."""
    return answer_for(history, believe(history), seed, draws, correction=correction)


def answer_for(
    history: History,
    beliefs: Beliefs,
    seed: int = 0,
    draws: int = DRAWS,
    extra_days: float = 0.0,
    correction: Correction | None = None,
) -> Answer:
    """The answer under given beliefs; `extra_days` are full shooting days done by others.

    A `correction` from the record moves days, odds and the pace needed, not the sessions to quote.
    """
    if not history.shots_left:
        return _nothing_left(history, draws)
    deadline_days = _deadline_days(history)
    futures = simulate(history, beliefs, seed, draws, deadline_days or 0, extra_days)
    days = correction.days(futures.days) if correction else futures.days
    chance = needed = None
    if deadline_days is not None:
        chance = float(np.mean(days <= deadline_days))
        level = correction.level(WANTED) if correction else WANTED
        needed = pace_needed(futures, beliefs, deadline_days, level)
    dates = {p: history.day_after(quantile(days, p)) for p in CHANCES}
    return Answer(
        samples=tuple(days.tolist()),
        chance_of_deadline=chance,
        finish_dates=dates,
        pace_needed=needed,
        quote_sessions={p: quantile(futures.sessions, p) for p in CHANCES},
        notes=notes(history, deadline_days, dates[CHANCES[-1]], needed),
    )


def _nothing_left(history: History, draws: int) -> Answer:
    in_time = None if history.deadline is None else 1.0
    note = "All shots are done." if history.shots else "There are no shots to forecast."
    return Answer(
        samples=(0,) * draws,
        chance_of_deadline=in_time,
        finish_dates=dict.fromkeys(CHANCES, history.as_of),
        pace_needed=None,
        quote_sessions=dict.fromkeys(CHANCES, 0),
        notes=(note,),
    )


def _deadline_days(history: History) -> int | None:
    """Working days from tomorrow up to and including the deadline."""
    if history.deadline is None:
        return None
    return min(history.calendar.count(history.as_of, history.deadline), LONGEST)


def pace_needed(
    futures: Futures, beliefs: Beliefs, deadline_days: int, level: float = WANTED
) -> PaceNeeded:
    """How much faster than now, from tomorrow, for the chance WANTED of the deadline.

    In each future the pace must rise by work / (capacity until the deadline - set-ups); none is
    enough where set-ups and lost days fill the time. The factor is their quantile at `level`, which
    is WANTED unless the record says otherwise.
    """
    room = futures.capacity_on(deadline_days) - futures.setups
    factors = np.where(room > 0, futures.work / np.maximum(room, 1e-9), np.inf)
    factor = float(np.quantile(factors, level, method="inverted_cdf"))
    if not math.isfinite(factor):
        return PaceNeeded(WANTED, None, {})
    paces = {name: pace * factor for name, pace in beliefs.pace.expected().items()}
    return PaceNeeded(WANTED, factor, paces)


def notes(
    history: History, deadline_days: int | None, last: date | None, needed: PaceNeeded | None
) -> tuple[str, ...]:
    """Sentences for what the figures cannot say; `last` is the latest date of the answer."""
    said = []
    names = dict.fromkeys(shot.difficulty for shot in history.shots)
    missing = [name for name in names if name not in history.assumed_pictures_per_hour]
    if missing:
        said.append(
            f"No pace is assumed for {', '.join(missing)}: the middle of the others stands in."
        )
    if not history.calendar.working_weekdays:
        said.append("The week has no working day: days of work are counted, but no date is sure.")
    elif last is None:
        said.append("The work left goes beyond the calendar: check the pictures budgeted.")
    if deadline_days == 0:
        said.append(
            f"The deadline, {history.deadline.isoformat()}, leaves no working day for the "
            f"{len(history.shots_left)} shots that are not done."
        )
    elif needed is not None and needed.factor is None:
        said.append("No pace meets the deadline: lost days and set-ups alone fill the time.")
    return tuple(said)

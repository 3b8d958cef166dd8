"""The forecast in plain sentences: the promise, on what it rests, and what to look at."""

import math
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from shots.trade.forecast.beliefs import GROWTH, Spread, believe, setup_of
from shots.trade.forecast.futures import simulate
from shots.trade.forecast.history import Answer, History, PaceNeeded
from shots.trade.forecast.pace import difficulties, quoted_paces
from shots.trade.forecast.shooting_days import shooting_days

NOT_INCLUDED = "Not included: shots added later, or a long absence."


def sentence(answer: Answer, history: History) -> str:
    """The promise: the middle date, and the one that holds four times in five."""
    if not history.shots_left:
        return "All shots are done." if history.shots else "There are no shots to forecast."
    begin = "At your pace so far" if _has_result(history) else "At the assumed pace"
    middle, likely = answer.finish_dates[0.5], answer.finish_dates[0.8]
    days = answer.days(0.5)
    if middle is None or likely is None:
        return (
            f"{begin}, shooting most likely takes {_days(days)}; four times in five at most "
            f"{answer.days(0.8)}. {NOT_INCLUDED}"
        )
    return (
        f"{begin}, shooting most likely ends {written(middle, history.as_of)} ({_days(days)}); "
        f"four times in five by {written(likely, history.as_of)}. {NOT_INCLUDED}"
    )


def deadline_sentence(answer: Answer, history: History) -> str | None:
    """The odds of the deadline as chances in a hundred; None without a deadline or work left."""
    if answer.chance_of_deadline is None or not history.shots_left:
        return None
    deadline = written(history.deadline, history.as_of)
    if history.deadline <= history.as_of:
        return f"The deadline, {deadline}, has passed."
    return f"Ready by the deadline, {deadline}: {_chances(answer.chance_of_deadline)} in 100."


def odds(chance: float) -> str:
    """A simulated chance in per cent; never a certainty, which no number of futures can show."""
    if chance < 0.01:
        return "under 1 %"
    if chance > 0.99:
        return "over 99 %"
    return f"{100 * chance:.0f} %"


def _chances(chance: float) -> str:
    if chance < 0.01:
        return "less than 1 chance"
    if chance > 0.99:
        return "more than 99 chances"
    count = round(100 * chance)
    return f"{count} chance{'' if count == 1 else 's'}"


def pace_sentence(needed: PaceNeeded) -> str:
    """How much faster the pace must be than it is, or how much slower it may be, in per cent."""
    if needed.factor is None:
        return (
            "No pace helps: lost days and set-ups alone fill the time. Move the deadline, cut "
            "shots or add a helper."
        )
    if needed.factor > OUT_OF_REACH:
        return (
            f"The pace would have to be {needed.factor:.0f} times as high as expected: out of "
            "reach. Move the deadline, cut shots or add a helper."
        )
    change = round(100 * abs(needed.factor - 1))
    if change == 0:
        return "That is the pace expected now."
    if needed.factor > 1:
        return f"That is {change} % faster than the pace expected now."
    return (
        f"You may go {change} % slower than the pace expected now and still end in time four "
        "times in five."
    )


def basis(history: History) -> str:
    """On what the forecast rests."""
    count = len(shooting_days(history, history.as_of))
    past = len(history.past_productions)
    finished = f"{past} finished production{'s' if past != 1 else ''}"
    if _has_result(history):
        also = f", and on {finished}" if past else ""
        return f"Rests on {count} day{'s' if count != 1 else ''} of shooting{also}."
    names = difficulties(history)
    paces = ", ".join(
        f"{name} {pace:g}" for name, pace in zip(names, quoted_paces(history, names), strict=True)
    )
    begin = f"Rests on the assumed pace ({paces} pictures an hour)"
    if past:
        return f"{begin}, corrected by {finished}."
    return (
        f"{begin} and on habits of the trade: no finished production says yet how fast this "
        "studio is. Were that pace twice too fast, the four-in-five date would hold only about "
        "one time in three."
    )


@dataclass(frozen=True)
class Concern:
    """Something to look at: what it means in working days, and what could be done."""

    kind: str
    sentence: str
    days: float
    remedy: str


FALLING = 0.85  # pace of the last five days against before, below which it is said
RECENT = 5
GROWN = math.log(1.1)
OUT_OF_REACH = 2.5  # times the pace expected: nobody animates that much faster from one day on
EATING = 2.0  # a set-up this many times as long as the others


def warnings(
    history: History, answer: Answer, threshold: float = 0.8, seed: int = 0
) -> tuple[Concern, ...]:
    """What needs a hand; `threshold` is the chance of the deadline the owner wants."""
    if not history.shots_left:
        return ()
    found = (
        odds_too_low(history, answer, threshold),
        pace_falling(history, answer),
        budget_growing(history, seed),
        setup_eating_time(history),
    )
    return tuple(concern for concern in found if concern is not None)


def odds_too_low(history: History, answer: Answer, threshold: float) -> Concern | None:
    chance = answer.chance_of_deadline
    if chance is None or chance >= threshold:
        return None
    room = history.calendar.count(history.as_of, history.deadline)
    late = answer.days(threshold) - room
    day = history.day_after(answer.days(threshold))
    remedies = []
    if day is not None:
        remedies.append(f"a deadline of {written(day, history.as_of)}")
    factor = answer.pace_needed.factor if answer.pace_needed else None
    if factor is not None and factor <= OUT_OF_REACH:
        remedies.append(f"a pace {factor:.2f} times as high")
    remedies.append("a helper's days, or fewer shots")
    return Concern(
        "odds",
        f"The deadline holds {odds(chance)} of the time, less than the {threshold * 100:.0f} % you "
        f"want: {_days(late)} short.",
        late,
        f"What would do: {', '.join(remedies)}.",
    )


def pace_falling(history: History, answer: Answer) -> Concern | None:
    """The last five days with time to shoot against those before, in hours of assumed pace."""
    names = difficulties(history)
    paces = dict(zip(names, quoted_paces(history, names), strict=True))
    days = [day for day in shooting_days(history, history.as_of) if day.shooting_hours > 0]
    if len(days) < 2 * RECENT:
        return None
    hours = np.array([day.shooting_hours for day in days])
    work = np.array(
        [sum(kept / paces[name] for name, kept in d.kept.items() if name in paces) for d in days]
    )
    before = work[:-RECENT].sum() / hours[:-RECENT].sum()
    lately = work[-RECENT:].sum() / hours[-RECENT:].sum()
    if not before > 0 or lately >= FALLING * before:
        return None
    ratio = float(lately / before)
    cost = answer.days(0.5) * (1 - ratio)
    return Concern(
        "pace",
        f"The last {RECENT} days ran at {100 * ratio:.0f} % of the pace before them: of the days "
        f"left, about {cost:.1f} are due to that.",
        cost,
        "Look for what slows the floor: a worn puppet, a set-up that is hard to reach, long days.",
    )


def budget_growing(history: History, seed: int) -> Concern | None:
    """Shots that end with more pictures than budgeted, over a tenth, for three shots or more."""
    beliefs = believe(history)
    finished = sum(shot.done for shot in history.shots)
    if finished < 3 or beliefs.growth.mean < GROWN:
        return None
    usual = replace(beliefs, growth=Spread(GROWTH.mean, beliefs.growth.sd))
    now, then = (simulate(history, b, seed, 1000).days.mean() for b in (beliefs, usual))
    return Concern(
        "growth",
        f"Finished shots take {100 * math.expm1(beliefs.growth.mean):.0f} % more pictures than "
        f"budgeted: {now - then:.1f} working days more if the others do too.",
        float(now - then),
        "Agree the longer shots with the client, or trim the ones not begun.",
    )


def setup_eating_time(history: History) -> Concern | None:
    """The set-up with the most hours, when far above the others.

    A day's set-up hours go to the set-up of its first shot; on a day without output, to the next.
    """
    setups = {shot.code: setup_of(shot) for shot in history.shots if shot.setup is not None}
    hours: dict[str, float] = {}
    waiting = 0.0
    for session in sorted(history.sessions, key=lambda one: one.date):
        if session.date > history.as_of:
            continue
        waiting += session.setup_hours
        used = [setups[output.shot] for output in session.output if output.shot in setups]
        if used:
            hours[used[0]] = hours.get(used[0], 0.0) + waiting
            waiting = 0.0
    if len(hours) < 3:
        return None
    worst = max(hours, key=hours.__getitem__)
    others = (sum(hours.values()) - hours[worst]) / (len(hours) - 1)
    if hours[worst] < EATING * others or hours[worst] < 2:
        return None
    days = (hours[worst] - others) / history.calendar.hours_per_day
    return Concern(
        "set-up",
        f"Set-up {worst} has taken {hours[worst]:.1f} hours, the others {others:.1f} on average: "
        f"{days:.1f} days.",
        days,
        "Finish all its shots before striking it, and fix what had to be set again.",
    )


def written(day: date, today: date) -> str:
    """Thursday 14 May, with the year where it is not this one."""
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day:%A} {day.day} {day:%B}{year}"


def _days(count: int) -> str:
    return f"{count} working day{'' if count == 1 else 's'}"


def _has_result(history: History) -> bool:
    return any(day.has_result for day in shooting_days(history, history.as_of))

"""What moves the date: each cause in days, and what a change of plan would do.

Both simulate again on the same luck, so a difference is the effect of the change alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from shots.trade.forecast.beliefs import Average, Beliefs, Share, Spread, believe
from shots.trade.forecast.engine import DRAWS, answer_for
from shots.trade.forecast.futures import simulate
from shots.trade.forecast.history import Answer, History, Shot
from shots.trade.forecast_record import Correction

NEVER = Share(1e-6, 1e3)
NOTHING = Average(1e-6, 1e6)


@dataclass(frozen=True)
class Move:
    """A cause and the working days it adds on average (negative: it saves them)."""

    cause: str
    days: float
    sentence: str


def what_moves_the_date(history: History, seed: int = 0, draws: int = 1000) -> tuple[Move, ...]:
    """Causes with the days each adds to what is left, the largest first; () when all is done."""
    if not history.shots_left:
        return ()
    beliefs = believe(history)
    days = _mean_days(history, beliefs, seed, draws)
    mix = mix_against_film(history, beliefs)
    speeds = tuple(speed * mix for speed in beliefs.pace.speeds)
    without = {
        "difficulty mix": replace(beliefs, pace=replace(beliefs.pace, speeds=speeds)),
        "set-ups": replace(beliefs, setup=NOTHING),
        "retakes": replace(beliefs, retake=NEVER),
        "lost days": replace(beliefs, lost=NEVER),
        "days without result": replace(beliefs, empty=NEVER),
        "growth": replace(beliefs, growth=Spread(0.0, 0.0)),
    }
    moves = []
    for cause, others in without.items():
        added = days - _mean_days(history, others, seed, draws)
        moves.append(Move(cause, added, _move_sentence(cause, added)))
    return tuple(sorted(moves, key=lambda move: -abs(move.days)))


def _mean_days(history: History, beliefs: Beliefs, seed: int, draws: int) -> float:
    return float(np.mean(simulate(history, beliefs, seed, draws).days))


def mix_against_film(history: History, beliefs: Beliefs) -> float:
    """Hours a picture of the shots left takes / hours a picture of the whole film takes."""
    paces = beliefs.pace.expected()

    def hours_each(shots: tuple[Shot, ...]) -> float:
        pictures = sum(shot.pictures_budgeted for shot in shots)
        hours = sum(shot.pictures_budgeted / paces[shot.difficulty] for shot in shots)
        return hours / pictures if pictures else 1.0

    return hours_each(history.shots_left) / hours_each(history.shots)


def _move_sentence(cause: str, days: float) -> str:
    size = f"{abs(days):.1f} working days"
    if cause == "difficulty mix":
        if abs(days) < 0.05:
            return "The shots left are as hard as the film as a whole."
        kind, verb = ("harder", "adds") if days > 0 else ("easier", "saves")
        return f"The shots left are {kind} than the film as a whole: that {verb} {size}."
    begin = {
        "set-ups": "Set-ups still to be made",
        "retakes": "Shots taken again",
        "lost days": "Days without a session",
        "days without result": "Sessions without a kept picture",
        "growth": "Shots growing over their budget",
    }[cause]
    return f"{begin} {'add' if days >= 0 else 'save'} {size}."


@dataclass(frozen=True)
class Change:
    """A change of plan to try; what is None or empty stays as it is."""

    helper_days: float = 0.0  # full days of shooting a helper does beside the animator
    budgets: Mapping[str, float] = field(default_factory=dict)  # pictures of shots, by code
    cut: tuple[str, ...] = ()  # codes of shots left that fall away
    hours_per_day: float | None = None
    deadline: date | None = None


def what_if(
    history: History,
    change: Change,
    seed: int = 0,
    draws: int = DRAWS,
    correction: Correction | None = None,
) -> Answer:
    """The answer had the plan been changed; nothing that was learnt from the floor changes."""
    changed = replace(
        history,
        shots=tuple(
            replace(shot, pictures_budgeted=change.budgets.get(shot.code, shot.pictures_budgeted))
            for shot in history.shots
            if shot.done or shot.code not in change.cut
        ),
        calendar=replace(
            history.calendar, hours_per_day=change.hours_per_day or history.calendar.hours_per_day
        ),
        deadline=change.deadline or history.deadline,
    )
    return answer_for(changed, believe(history), seed, draws, change.helper_days, correction)

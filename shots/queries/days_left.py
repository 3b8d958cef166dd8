"""Days left, odds of the deadline and the fan, as a page prints them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shots.models import Production, Promise
from shots.queries.floor import FloorShot
from shots.queries.history import histories_and_shots
from shots.queries.record import correction
from shots.queries.remembered import remembered
from shots.trade.forecast import Answer, History, forecast
from shots.trade.forecast.band import band_ahead, kept_so_far
from shots.trade.forecast.sentences import (
    Concern,
    basis,
    deadline_sentence,
    odds,
    pace_sentence,
    sentence,
    warnings,
)
from shots.trade.forecast_record import Correction
from studio.models import Studio
from studio.trade.fan import BudgetStep, Fan, fan

# The same evening always gives the same odds: a number that moves by itself is not trusted.
# It is the seed of the forecast command too, so that both say the same.
SEED = 0


@dataclass(frozen=True)
class DaysLeft:
    """The promise of one production, this evening."""

    history: History
    answer: Answer
    correction: Correction | None = None
    shots: tuple[FloorShot, ...] = ()  # the same as in the history, for drawing

    @property
    def sentence(self) -> str:
        return sentence(self.answer, self.history)

    @property
    def basis(self) -> str:
        return basis(self.history)

    @property
    def deadline_sentence(self) -> str | None:
        return deadline_sentence(self.answer, self.history)

    @property
    def pace_sentence(self) -> str | None:
        needed = self.answer.pace_needed
        return needed and pace_sentence(needed)

    def concerns(self, studio: Studio) -> tuple[Concern, ...]:
        """What needs a hand, at the odds the owner wants to be warned under."""
        return remembered(
            warnings,
            self.history,
            answer=self.answer,
            threshold=studio.odds_threshold / 100,
            seed=SEED,
        )

    @property
    def even(self) -> int:
        """Working days at even chance."""
        return self.answer.days(0.5)

    @property
    def likely(self) -> int:
        """Working days that are enough four times in five."""
        return self.answer.days(0.8)

    @property
    def finish_even(self) -> date | None:
        return self.answer.finish_dates[0.5]

    @property
    def finish_likely(self) -> date | None:
        return self.answer.finish_dates[0.8]

    @property
    def chance(self) -> float | None:
        """Chance of the deadline, 0 to 1; None without a deadline."""
        return self.answer.chance_of_deadline

    @property
    def odds(self) -> str:
        """That chance in per cent; certain only once all is shot, or the deadline has passed."""
        over = self.history.deadline <= self.history.as_of
        certain = over or not self.history.shots_left
        return f"{100 * self.chance:.0f} %" if certain else odds(self.chance)


def days_left(
    productions: Sequence[Production], studio: Studio, today: date, seed: int = SEED
) -> dict[int, DaysLeft]:
    """The promise of each production, by primary key; the queries do not grow with their number."""
    corrected = correction(studio)
    found, shots = histories_and_shots(productions, studio, today)
    return {
        pk: DaysLeft(
            history,
            remembered(forecast, history, seed=seed, correction=corrected),
            corrected,
            shots[pk],
        )
        for pk, history in found.items()
    }


def fan_of(left: DaysLeft, agreed: int | None, promises: Sequence[Promise]) -> Fan:
    """The fan of one production, ready to be drawn.

    The budget line starts at the pictures agreed with the client, where they were, and follows
    the budget of each evening that was kept.
    """
    history = left.history
    kept = kept_so_far(history)
    start = kept[0].day - timedelta(days=1) if kept else history.as_of
    budgeted = round(sum(shot.pictures_budgeted for shot in history.shots))
    budgets = [(p.evening, p.budget) for p in promises if start <= p.evening < history.as_of]
    first = agreed or (budgets[0][1] if budgets else budgeted)
    return fan(
        kept=kept,
        budget=_steps([(start, first), *budgets, (history.as_of, budgeted)]),
        forecast=remembered(band_ahead, history, seed=SEED, correction=left.correction),
        deadline=history.deadline,
        today=history.as_of + timedelta(days=1),
    )


def _steps(budgets: Sequence[tuple[date, int]]) -> list[BudgetStep]:
    """Only the days on which the budget changed, the first included."""
    steps: list[BudgetStep] = []
    for day, pictures in budgets:
        if not steps or steps[-1].pictures != pictures:
            steps.append(BudgetStep(day, pictures))
    return steps

"""Days left, odds of the deadline and the fan, as a page prints them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shots.models import Production
from shots.queries.history import histories
from shots.trade.forecast import Answer, History, forecast
from shots.trade.forecast.band import band_ahead, kept_so_far
from shots.trade.forecast.sentences import basis, sentence
from studio.models import Studio
from studio.trade.fan import BudgetStep, Fan, fan

# The same evening always gives the same odds: a number that moves by itself is not trusted.
SEED = 1


@dataclass(frozen=True)
class DaysLeft:
    """The promise of one production, this evening."""

    history: History
    answer: Answer

    @property
    def sentence(self) -> str:
        return sentence(self.answer, self.history)

    @property
    def basis(self) -> str:
        return basis(self.history)

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


def days_left(
    productions: Sequence[Production], studio: Studio, today: date
) -> dict[int, DaysLeft]:
    """The promise of each production, by primary key; the queries do not grow with their number."""
    return {
        pk: DaysLeft(history, forecast(history, seed=SEED))
        for pk, history in histories(productions, studio, today).items()
    }


def fan_of(left: DaysLeft) -> Fan:
    """The fan of one production, ready to be drawn."""
    history = left.history
    kept = kept_so_far(history)
    start = kept[0].day - timedelta(days=1) if kept else history.as_of
    budgeted = sum(shot.pictures_budgeted for shot in history.shots)
    return fan(
        kept=kept,
        budget=[BudgetStep(start, round(budgeted))],
        forecast=band_ahead(history, seed=SEED),
        deadline=history.deadline,
        today=history.as_of + timedelta(days=1),
    )

"""A change of plan tried out: the date and the odds beside the present promise."""

from dataclasses import dataclass
from datetime import date

from shots.models import Production, Shot
from shots.queries.days_left import SEED, DaysLeft, days_left
from shots.trade.forecast import Answer
from shots.trade.forecast.changes import Change, what_if
from shots.trade.forecast.sentences import odds, written
from studio.models import Studio


@dataclass(frozen=True)
class Plan:
    """What to change; what is None, zero or empty stays as it is. Shots by their codes."""

    helper_days: float = 0.0
    exposure: int | None = None
    cut: tuple[str, ...] = ()
    hours_per_day: float | None = None
    deadline: date | None = None

    @property
    def changes_anything(self) -> bool:
        return self != Plan()

    @property
    def can_be_saved(self) -> bool:
        """Whether a part of it is kept with the film: its deadline, exposures, cut shots."""
        return bool(self.exposure or self.cut or self.deadline)

    @property
    def only_tried(self) -> str:
        """What of it saving leaves out, and where that is changed; empty for nothing."""
        said = []
        if self.helper_days:
            said.append("A helper’s days are kept on their call sheets.")
        if self.hours_per_day:
            said.append("The day length is changed in the studio’s profile.")
        return " ".join(said)


@dataclass(frozen=True)
class Row:
    """One figure, now and with the change; `moved` says the difference in words."""

    name: str
    now: str
    then: str
    moved: str


@dataclass(frozen=True)
class WhatIf:
    """The answer to a change of plan beside the present promise."""

    production: Production
    plan: Plan
    rows: tuple[Row, ...]
    notes: tuple[str, ...]


def shots_left(production: Production) -> list[Shot]:
    """The shots that can still be changed or cut, in the order of the film."""
    return list(production.shots.left_to_shoot().with_counts())


def not_begun(shots: list[Shot]) -> list[Shot]:
    """Shots whose exposure is still free: one begun keeps its own to its end."""
    return [shot for shot in shots if shot.kept == 0]


def tried(
    production: Production, studio: Studio, today: date, plan: Plan, left: list[Shot]
) -> WhatIf:
    """Days, dates and odds under a changed plan; nothing is saved. `left` is `shots_left`."""
    now = days_left([production], studio, today)[production.pk]
    change = Change(
        helper_days=plan.helper_days,
        budgets=_budgets(left, plan.exposure),
        cut=plan.cut,
        hours_per_day=plan.hours_per_day,
        deadline=plan.deadline,
    )
    then = what_if(now.history, change, seed=SEED, correction=now.correction)
    return WhatIf(production, plan, _rows(now, then, plan), then.notes)


def _budgets(left: list[Shot], exposure: int | None) -> dict[str, float]:
    """Pictures of the shots not begun at another exposure, by the frame-budget formula."""
    if exposure is None:
        return {}
    budgets = {}
    for shot in not_begun(left):
        shot.exposure = exposure
        budgets[shot.code] = shot.budget
    return budgets


def _rows(now: DaysLeft, then: Answer, plan: Plan) -> tuple[Row, ...]:
    rows = [
        Row(name, _day(now, chance, now.answer), _day(now, chance, then), moved)
        for name, chance in (("Even chance", 0.5), ("Four times in five", 0.8))
        for moved in [_days_moved(then.days(chance) - now.answer.days(chance))]
    ]
    before, after = now.chance, then.chance_of_deadline
    if after is not None:
        deadline = written(plan.deadline or now.history.deadline, now.history.as_of)
        rows.append(
            Row(
                f"Chance of the deadline, {deadline}",
                "no deadline" if before is None else _chance_now(now, plan),
                odds(after),
                "" if before is None else _points_moved(round(100 * after) - round(100 * before)),
            )
        )
    return tuple(rows)


def _day(left: DaysLeft, chance: float, answer: Answer) -> str:
    day = answer.finish_dates[chance]
    return written(day, left.history.as_of) if day else f"{answer.days(chance)} working days"


def _days_moved(days: int) -> str:
    if days == 0:
        return "the same"
    plural = "" if abs(days) == 1 else "s"
    return f"{abs(days)} working day{plural} {'sooner' if days < 0 else 'later'}"


def _chance_now(now: DaysLeft, plan: Plan) -> str:
    """The present odds; with the present deadline, where the plan has another."""
    if plan.deadline in (None, now.history.deadline):
        return now.odds
    return f"{now.odds} on {written(now.history.deadline, now.history.as_of)}"


def _points_moved(points: int) -> str:
    if points == 0:
        return "the same"
    plural = "" if abs(points) == 1 else "s"
    return f"{abs(points)} point{plural} {'more' if points > 0 else 'less'}"

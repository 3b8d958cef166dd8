"""One plan beside another: what grouping saves, and what moved since."""

from dataclasses import dataclass
from datetime import date

from shots.trade.plan.made import Plan


@dataclass(frozen=True)
class Saving:
    """Set-up changes and shooting days the plan does without; below 0 it needs more.

    `at_least`: film order did not even fit the working days, so the true saving is larger.
    """

    setup_changes: int
    days: int
    at_least: bool


@dataclass(frozen=True)
class Moved:
    """A shot whose days differ; no `before` if it is new to the plan, no `after` if it left it."""

    code: str
    before: tuple[date, date] | None
    after: tuple[date, date] | None

    @property
    def sentence(self) -> str:
        if self.before is None:
            return f"{self.code} is new, on {_span(self.after)}."
        if self.after is None:
            return f"{self.code} is no longer planned; it was on {_span(self.before)}."
        return f"{self.code} moves from {_span(self.before)} to {_span(self.after)}."


def saving(plan: Plan, film_order: Plan) -> Saving:
    """What `plan` saves against shooting the same shots in film order."""
    return Saving(
        film_order.setup_changes - plan.setup_changes,
        film_order.days_used - plan.days_used,
        at_least=len(film_order.left_out) > len(plan.left_out),
    )


def moved(before: Plan, after: Plan) -> tuple[Moved, ...]:
    """Every shot that starts or ends on another day, in the order of the later plan."""
    old = {shot.code: (shot.first, shot.last) for shot in before.shots}
    new = {shot.code: (shot.first, shot.last) for shot in after.shots}
    return tuple(
        Moved(code, old.get(code), new.get(code))
        for code in dict.fromkeys([*new, *old])
        if old.get(code) != new.get(code)
    )


def _span(days: tuple[date, date]) -> str:
    first, last = (f"{day.day} {day:%B}" for day in days)
    return first if first == last else f"{first} to {last}"

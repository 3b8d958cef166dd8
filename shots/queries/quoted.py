"""What was quoted for a production in days and pace, against what the sessions measured."""

from dataclasses import dataclass
from decimal import Decimal

from shots.models import Production, QuotedDays
from shots.queries.days_left import DaysLeft
from shots.queries.measured_pace import paces_of
from shots.trade.measured_pace import PaceRecord


@dataclass(frozen=True)
class PaceAgainst:
    """The pace of one difficulty as quoted and as measured, in pictures an hour.

    `quoted` is None for what was not in the quote, `measured` for what was not shot yet.
    """

    difficulty: str
    quoted: Decimal | None
    measured: PaceRecord | None


@dataclass(frozen=True)
class QuotedAgainst:
    """A production held against its quote. `days_to_come` is at even chance; None once it is
    delivered."""

    days: QuotedDays
    paces: tuple[PaceAgainst, ...]
    days_shot: int
    days_to_come: int | None

    @property
    def days_in_all(self) -> int:
        return self.days_shot + (self.days_to_come or 0)


def quoted_against_measured(production: Production, left: DaysLeft | None) -> QuotedAgainst | None:
    """Days and pace against the quote; None for a production that came from no quote."""
    days = QuotedDays.objects.filter(production=production).first()
    if days is None:
        return None
    shot = production.sessions.finished().order_by().values("day").distinct().count()
    to_come = left.answer.quote_sessions[0.5] if left else None
    return QuotedAgainst(days, paces_against(production), shot, to_come)


def paces_against(production: Production) -> tuple[PaceAgainst, ...]:
    """Each difficulty quoted or shot, as quoted and as measured."""
    quoted = {
        row.difficulty.name: row.pictures_per_hour
        for row in production.quoted_paces.select_related("difficulty")
    }
    measured = paces_of([production])[production.pk]
    return tuple(
        PaceAgainst(name, quoted.get(name), measured.get(name))
        for name in dict.fromkeys([*quoted, *measured])
    )

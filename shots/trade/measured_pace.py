"""Pace as the sessions measured it, by difficulty: pictures kept over hours without set-ups."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class SessionOutput:
    """What one session kept of each difficulty, in its hours with set-ups left out."""

    hours: Decimal
    kept: Mapping[str, int]


@dataclass(frozen=True)
class PaceRecord:
    """Kept pictures of one difficulty, the hours they took, and in how many sessions."""

    difficulty: str
    pictures: int
    hours: Decimal
    sessions: int

    @property
    def pace(self) -> Decimal | None:
        """Pictures an hour; None where no hours were counted."""
        return round(self.pictures / self.hours, 2) if self.hours else None


def pace_records(
    sessions: Iterable[SessionOutput], assumed: Mapping[str, Decimal]
) -> dict[str, PaceRecord]:
    """The record of each difficulty. The hours of a session are shared among its difficulties as
    the assumed pace, in pictures an hour, says they took."""
    records: dict[str, PaceRecord] = {}
    for session in sessions:
        weight = sum(kept / assumed[name] for name, kept in session.kept.items())
        for name, kept in session.kept.items():
            hours = session.hours * (kept / assumed[name]) / weight
            so_far = records.get(name) or PaceRecord(name, 0, Decimal(0), 0)
            records[name] = PaceRecord(
                name, so_far.pictures + kept, so_far.hours + hours, so_far.sessions + 1
            )
    return records

"""Who changed what in a session, and when."""

from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from django.utils import timezone

from shots.models import Session, SessionShot, Setup

CORRECTIONS_SHOWN = 40


@dataclass(frozen=True)
class Correction:
    """One recorded change of a session: when, by whom, and what changed, in words."""

    at: datetime
    who: str
    changes: tuple[str, ...]


def corrections(session: Session) -> tuple[Correction, ...]:
    """Who changed what in a session, and when, the latest first; four queries in all."""
    records = list(session.history.select_related("history_user").order_by("history_id"))
    setups = Setup.objects.in_bulk({record.setup_id for record in records} - {None})
    found = [
        _correction(record, _session_changes(before, record, setups))
        for before, record in pairwise(records)
    ]
    counts: dict[int, tuple[int, int]] = {}  # kept and discarded by shot, as recorded so far
    output = SessionShot.history.filter(session_id=session.pk)
    for record in output.select_related("history_user", "shot").order_by("history_id"):
        before = counts.get(record.shot_id, (0, 0))
        counts[record.shot_id] = (record.kept, record.discarded)
        found.append(_correction(record, _count_changes(before, record)))
    told = [correction for correction in found if correction.changes]
    told.sort(key=lambda correction: correction.at, reverse=True)
    return tuple(told[:CORRECTIONS_SHOWN])


def _correction(record, changes: tuple[str, ...]) -> Correction:
    who = record.history_user.name if record.history_user else "nobody signed in"
    return Correction(record.history_date, who, changes)


# Fields whose change is worth telling; version and pause are bookkeeping.
TOLD = ("day", "started_at", "ended_at", "setup_minutes", "break_minutes", "notes", "archived_at")


def _session_changes(before, record, setups: dict[int, Setup]) -> tuple[str, ...]:
    changes = [
        f"{_label(name)} {_told(getattr(before, name))} → {_told(getattr(record, name))}"
        for name in TOLD
        if getattr(before, name) != getattr(record, name)
    ]
    if before.setup_id != record.setup_id:
        old, new = setups.get(before.setup_id), setups.get(record.setup_id)
        changes.append(f"set-up {_told(old)} → {_told(new)}")
    return tuple(changes)


def _count_changes(before: tuple[int, int], record) -> tuple[str, ...]:
    after = (record.kept, record.discarded)
    return tuple(
        f"{record.shot.code} {name} {old} → {new}"
        for name, old, new in zip(("kept", "discarded"), before, after, strict=True)
        if old != new
    )


def _label(name: str) -> str:
    return "archived" if name == "archived_at" else Session._meta.get_field(name).verbose_name


def _told(value) -> str:
    if value is None or value == "":
        return "none"
    if isinstance(value, datetime):
        return f"{timezone.localtime(value):%d.%m.%Y %H:%M}"
    return f"{value:%d.%m.%Y}" if isinstance(value, date) else str(value)

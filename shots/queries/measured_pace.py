"""Pace as measured: of the studio's recent sessions, or of some productions."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from itertools import chain

from shots.models import Difficulty, Production, SessionShot
from shots.queries.floor import Rows, as_text, hours_worked
from shots.trade.measured_pace import PaceRecord, SessionOutput, pace_records

# Sessions older than the last two thousand counts say little about today's hand.
RECENT_COUNTS = 2000


def assumed_paces() -> dict[str, Decimal]:
    """Pictures an hour the owner assumes, by difficulty."""
    return {row.name: Decimal(row.pictures_per_hour) for row in Difficulty.objects.all()}


def recent_paces(assumed: dict[str, Decimal]) -> dict[str, PaceRecord]:
    """The studio's measured pace, whatever the film."""
    rows = _counts().order_by("-session__started_at")[:RECENT_COUNTS]
    return pace_records(chain.from_iterable(_outputs(tuple(rows)).values()), assumed)


def paces_of(productions: Iterable[Production]) -> dict[int, dict[str, PaceRecord]]:
    """The measured pace of each production, by its primary key."""
    outputs = _outputs(tuple(_counts().filter(session__production__in=productions)))
    assumed = assumed_paces()
    return defaultdict(dict, {pk: pace_records(one, assumed) for pk, one in outputs.items()})


def _counts():
    """What finished sessions kept, as `_outputs` reads it."""
    return SessionShot.objects.filter(
        session__archived_at=None, session__ended_at__isnull=False, kept__gt=0
    ).values_list(
        "session__production_id", "session_id", as_text("session__started_at"),
        as_text("session__ended_at"), "session__break_minutes", "session__setup_minutes",
        "shot__difficulty__name", "kept",
    )  # fmt: skip


@lru_cache(2)
def _outputs(rows: Rows) -> dict[int, tuple[SessionOutput, ...]]:
    """The sessions behind the counts, by production; reckoned once for the same counts."""
    hours: dict[int, Decimal] = {}
    kept: dict[tuple[int, int], dict[str, int]] = {}
    for film, session, start, end, breaks, setup, difficulty, count in rows:
        if session not in hours:
            hours[session] = Decimal(max(hours_worked(start, end, breaks) - setup / 60, 0))
        of_session = kept.setdefault((film, session), {})
        of_session[difficulty] = of_session.get(difficulty, 0) + count
    outputs = defaultdict(list)
    for (film, session), of_session in kept.items():
        outputs[film].append(SessionOutput(hours[session], of_session))
    return {film: tuple(sessions) for film, sessions in outputs.items()}

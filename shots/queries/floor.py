"""What was logged on the floor, of many films at once.

With ten years of films, making a model instance of every shot and reading every date is most of
the time of a page. So the rows are taken as they lie in the database, and what follows from a
film's rows is reckoned once for the same rows: nothing here can grow stale.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property, lru_cache

from django.db.models import QuerySet, TextField
from django.db.models.functions import Cast

from shots.models import Production, Session, SessionShot, Shot
from shots.models.standing import Standing
from shots.trade.forecast import history as parts
from shots.trade.session_times import worked


def as_text(field: str) -> Cast:
    """A field as it lies in the database: a thousand dates are read only where they are needed."""
    return Cast(field, TextField())


Sessions = dict[int, tuple[parts.Session, ...]]  # by the production's primary key
Rows = tuple[tuple, ...]  # of one film, as they lie in the database

FILMS = 64  # films whose rows are remembered: those of the longest page, and the finished ones


@dataclass(frozen=True)
class FloorShot(Standing):
    """A shot as it is counted: names as on the model, difficulty and set-up by their names."""

    code: str
    difficulty: str
    setup: str | None
    screen_frames: int
    exposure: int
    handle_frames: int
    held_frames: int
    holds: int
    reused_frames: int
    retaken_pictures: int
    photographed: int
    status: str

    @cached_property
    def budget(self) -> int:
        """As on the model; a row read once stays as it is, so it is reckoned once."""
        return self.length.pictures


SHOT = (
    "production_id", "code", "difficulty__name", "setup__code", "screen_frames", "exposure",
    "handle_frames", "held_frames", "holds", "reused_frames", "retaken_pictures", "photographed",
    "status",
)  # fmt: skip


def shot_rows(productions: Iterable[Production]) -> dict[int, Rows]:
    """The shots in each film as it stands, in film order, by the production's primary key."""
    return _rows(Shot.objects.in_film().filter(production__in=productions))


def _rows(shots: QuerySet[Shot]) -> dict[int, Rows]:
    return _by_film(shots.with_counts().values_list(*SHOT))


def session_rows(productions: Iterable[Production]) -> dict[int, tuple[Rows, Rows]]:
    """Each film's finished sessions, oldest first, and what was counted in them.

    One still running says nothing yet.
    """
    finished = Session.objects.finished().filter(production__in=productions)
    sessions = finished.order_by("started_at").values_list(
        "production_id", "pk", as_text("day"), as_text("started_at"), as_text("ended_at"),
        "setup_minutes", "break_minutes",
    )  # fmt: skip
    counts = SessionShot.objects.filter(session__in=finished).values_list(
        "session__production_id", "session_id", "shot__code", "kept", "discarded"
    )
    by_film, counts_by_film = _by_film(sessions), _by_film(counts)
    return defaultdict(lambda: ((), ()), {pk: (by_film[pk], counts_by_film[pk]) for pk in by_film})


def _by_film(rows: Iterable[tuple]) -> dict[int, Rows]:
    found = defaultdict(list)
    for production, *row in rows:
        found[production].append(tuple(row))
    return defaultdict(tuple, {pk: tuple(of_film) for pk, of_film in found.items()})


@lru_cache(FILMS)
def floor_shots(rows: Rows) -> tuple[FloorShot, ...]:
    """The shots of a film, from its rows."""
    return tuple(FloorShot(*row) for row in rows)


@lru_cache(FILMS)
def engine_shots(rows: Rows) -> tuple[parts.Shot, ...]:
    """The same as the forecast reads them."""
    return tuple(
        parts.Shot(
            code=shot.code,
            difficulty=shot.difficulty,
            setup=shot.setup,
            pictures_budgeted=shot.budget,
            pictures_kept=shot.kept,
            done=shot.is_done,
        )
        for shot in floor_shots(rows)
    )


@lru_cache(FILMS)
def engine_sessions(rows: Rows, counts: Rows) -> tuple[parts.Session, ...]:
    """The sessions of a film as the forecast reads them, from its rows."""
    output = defaultdict(list)
    for session, code, kept, discarded in counts:
        output[session].append(parts.Output(shot=code, kept=kept, discarded=discarded))
    return tuple(
        _session(started, ended, setup, breaks, date.fromisoformat(day), tuple(output[pk]))
        for pk, day, started, ended, setup, breaks in rows
    )


def hours_worked(started: str, ended: str, breaks: int) -> float:
    """Hours between two moments as they lie in the database, breaks (minutes) left out."""
    length = worked(datetime.fromisoformat(started), datetime.fromisoformat(ended), breaks)
    return length.total_seconds() / 3600


def _session(started, ended, setup, breaks, day, output) -> parts.Session:
    hours = max(hours_worked(started, ended, breaks), 0.0)
    return parts.Session(date=day, hours=hours, setup_hours=min(setup / 60, hours), output=output)


def pictures_of(productions: Iterable[Production]) -> dict[int, int]:
    """Pictures kept for each of these films, those of shots that were cut later among them."""
    rows = _rows(Shot.objects.current().filter(production__in=productions))
    return {film.pk: sum(shot.kept for shot in floor_shots(rows[film.pk])) for film in productions}


def shots_of(productions: Iterable[Production]) -> dict[int, tuple[FloorShot, ...]]:
    """The shots in each film as it stands, in film order, by the production's primary key."""
    rows = shot_rows(productions)
    return defaultdict(tuple, {pk: floor_shots(of_film) for pk, of_film in rows.items()})


def sessions_of(productions: Iterable[Production]) -> Sessions:
    """The finished sessions of each of these films, oldest first."""
    rows = session_rows(productions)
    return {film.pk: engine_sessions(*rows[film.pk]) for film in productions}

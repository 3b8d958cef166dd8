"""The history the forecast reads, assembled from what was logged, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.db.models import F

from shots.models import Difficulty, Production, Session, SessionShot, Shot
from shots.trade import forecast as engine
from shots.trade.forecast import history as parts
from shots.trade.session_times import worked
from studio.models import Studio
from studio.queries import work_calendar

# Pace changes with the animator's hand: older films than these say little about today's.
PAST_PRODUCTIONS = 8

# What is read of a shot: with ten years of films, the rest is most of the time.
READ = (
    "production_id", "code", "screen_frames", "exposure", "handle_frames", "held_frames", "holds",
    "reused_frames", "retaken_pictures", "status",
)  # fmt: skip


def histories(
    productions: Sequence[Production], studio: Studio, today: date
) -> dict[int, engine.History]:
    """A history for each production, by its primary key, as the studio stands this evening."""
    past = _finished_before(productions)
    everything = [*productions, *past]
    shots = _shots_of(everything)
    sessions = _sessions_of(everything)
    paces = _assumed_paces()
    earliest = min((held[0].date for held in sessions.values() if held), default=today)
    calendar = work_calendar(studio, min(earliest, today), years=5)
    finished = _finished(past, shots, sessions, calendar, paces)
    return {
        film.pk: engine.History(
            shots=shots[film.pk],
            sessions=sessions[film.pk],
            calendar=calendar,
            assumed_pictures_per_hour=paces,
            fps=float(film.rate),
            capture=parts.Capture(exposure=film.exposure),
            as_of=evening(film, sessions[film.pk], today),
            deadline=film.deadline,
            past_productions=finished,
        )
        for film in productions
    }


def evening(production: Production, sessions: Sequence[parts.Session], today: date) -> date:
    """The evening the forecast looks ahead from.

    Tonight once a session of today is finished; else last night, so that today still counts as a
    day to shoot on; and the eve of the first shooting day for a film that has not begun.
    """
    if sessions and sessions[-1].date >= today:
        return today
    yesterday = today - timedelta(days=1)
    if not sessions and production.start and production.start > today:
        return production.start - timedelta(days=1)
    return yesterday


def _finished_before(productions: Iterable[Production]) -> list[Production]:
    running = [production.pk for production in productions]
    delivered = Production.objects.current().filter(stage=Production.Stage.DELIVERED)
    return list(delivered.exclude(pk__in=running).order_by("-created_at")[:PAST_PRODUCTIONS])


def _shots_of(productions: Iterable[Production]) -> dict[int, tuple[parts.Shot, ...]]:
    found = defaultdict(list)
    rows = Shot.objects.in_film().filter(production__in=productions).with_counts()
    named = rows.annotate(of_difficulty=F("difficulty__name"), of_setup=F("setup__code"))
    for shot in named.only(*READ):
        found[shot.production_id].append(
            parts.Shot(
                code=shot.code,
                difficulty=shot.of_difficulty,
                setup=shot.of_setup,
                pictures_budgeted=shot.budget,
                pictures_kept=shot.kept,
                done=shot.is_done,
            )
        )
    return defaultdict(tuple, {pk: tuple(shots) for pk, shots in found.items()})


def _sessions_of(productions: Iterable[Production]) -> dict[int, tuple[parts.Session, ...]]:
    """Finished sessions, oldest first; one still running says nothing yet."""
    rows = Session.objects.finished().filter(production__in=productions)
    output = defaultdict(list)
    of_these = SessionShot.objects.filter(session__in=rows)
    for session, code, kept, discarded in of_these.values_list(
        "session_id", "shot__code", "kept", "discarded"
    ):
        output[session].append(parts.Output(shot=code, kept=kept, discarded=discarded))
    found = defaultdict(list)
    for film, pk, day, started, ended, setup, breaks in rows.order_by("started_at").values_list(
        "production_id", "pk", "day", "started_at", "ended_at", "setup_minutes", "break_minutes"
    ):
        hours = max(worked(started, ended, breaks).total_seconds() / 3600, 0.0)
        found[film].append(
            parts.Session(
                date=day,
                hours=hours,
                setup_hours=min(setup / 60, hours),
                output=tuple(output[pk]),
            )
        )
    return defaultdict(tuple, {pk: tuple(sessions) for pk, sessions in found.items()})


def finished_productions(studio: Studio, today: date) -> tuple[parts.PastProduction, ...]:
    """The studio's finished films, for the forecast of one that has not begun."""
    past = _finished_before([])
    sessions = _sessions_of(past)
    earliest = min((held[0].date for held in sessions.values() if held), default=today)
    calendar = work_calendar(studio, min(earliest, today), years=5)
    return _finished(past, _shots_of(past), sessions, calendar, _assumed_paces())


def _assumed_paces() -> dict[str, float]:
    return {row.name: float(row.pictures_per_hour) for row in Difficulty.objects.all()}


def _finished(past, shots, sessions, calendar, paces) -> tuple[parts.PastProduction, ...]:
    return tuple(
        parts.PastProduction(
            shots=shots[film.pk],
            sessions=sessions[film.pk],
            calendar=calendar,
            assumed_pictures_per_hour=paces,
            fps=float(film.rate),
            finished=sessions[film.pk][-1].date,
        )
        for film in past
        if sessions[film.pk]
    )

"""The history the forecast reads, assembled from what was logged, in a fixed number of queries."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache

from shots.models import Difficulty, Production
from shots.queries.floor import (
    FILMS,
    FloorShot,
    Sessions,
    engine_shots,
    floor_shots,
    sessions_of,
    shot_rows,
)
from shots.trade import forecast as engine
from shots.trade.forecast import history as parts
from studio.models import Studio
from studio.queries import work_calendar
from studio.trade.calendar import WorkCalendar

# Pace changes with the animator's hand: older films than these say little about today's.
PAST_PRODUCTIONS = 8


def histories(
    productions: Sequence[Production], studio: Studio, today: date
) -> dict[int, engine.History]:
    """A history for each production, by its primary key, as the studio stands this evening."""
    return histories_and_shots(productions, studio, today)[0]


def histories_and_shots(
    productions: Sequence[Production], studio: Studio, today: date
) -> tuple[dict[int, engine.History], dict[int, tuple[FloorShot, ...]]]:
    """The histories, and the shots they were made from, for a page that draws those as well."""
    past = _finished_before(productions)
    shots = shot_rows([*productions, *past])
    sessions = sessions_of([*productions, *past])
    paces = _assumed_paces()
    calendar = _calendar(sessions, studio, today)
    finished = _finished(past, shots, sessions, calendar, paces)
    found = {
        film.pk: engine.History(
            shots=engine_shots(shots[film.pk]),
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
    return found, {film.pk: floor_shots(shots[film.pk]) for film in productions}


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


def _calendar(sessions: Sessions, studio: Studio, today: date) -> WorkCalendar:
    """The working calendar from the first of the sessions on."""
    earliest = min((held[0].date for held in sessions.values() if held), default=today)
    return work_calendar(studio, min(earliest, today), years=5)


def finished_productions(
    studio: Studio, today: date, paces: Mapping[str, float]
) -> tuple[parts.PastProduction, ...]:
    """The studio's finished films, for the forecast of one to come that is quoted at `paces`."""
    past = _finished_before([])
    sessions = sessions_of(past)
    calendar = _calendar(sessions, studio, today)
    return _finished(past, shot_rows(past), sessions, calendar, paces)


def _assumed_paces() -> dict[str, float]:
    return {row.name: float(row.pictures_per_hour) for row in Difficulty.objects.all()}


def _finished(past, shots, sessions, calendar, paces) -> tuple[parts.PastProduction, ...]:
    assumed = tuple(paces.items())
    return tuple(
        _past_production(shots[film.pk], sessions[film.pk], calendar, assumed, float(film.rate))
        for film in past
        if sessions[film.pk]
    )


@lru_cache(FILMS)
def _past_production(shots, sessions, calendar, assumed, fps) -> parts.PastProduction:
    """The same object for the same film as it was logged, so that its digest is found once."""
    return parts.PastProduction(
        shots=engine_shots(shots),
        sessions=sessions,
        calendar=calendar,
        assumed_pictures_per_hour=dict(assumed),
        fps=fps,
        finished=sessions[-1].date,
    )

"""The floor's part of the Today page."""

from shots.models import Session
from shots.queries.film import RunningFilm, running_films
from shots.queries.sessions import open_sessions
from shots.services.promises import keep_promises
from studio.today import Section, section


@section
def running(request) -> Section:
    """Every running film: strip, days left, today's call, and the button that starts a session."""
    return Section("shots/_today.html", films_today(request))


def films_today(request) -> tuple[RunningFilm, ...]:
    """The running films, computed once a request; their promises of this evening are kept."""
    if not hasattr(request, "running_films"):
        films = running_films(request.studio, request.today, open_today(request))
        keep_promises({film.production.pk: film.left for film in films}, request.today)
        request.running_films = films
    return request.running_films


def open_today(request) -> list[Session]:
    """Sessions that nobody has finished, read once a request."""
    if not hasattr(request, "open_sessions"):
        request.open_sessions = open_sessions()
    return request.open_sessions

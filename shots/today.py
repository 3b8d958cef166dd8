"""The floor's part of the Today page."""

from shots.queries.film import running_films
from studio.today import Section, section


@section
def running(request) -> Section:
    """Every running film: strip, days left, today's call, and the button that starts a session."""
    return Section("shots/_today.html", running_films(request.studio, request.today))

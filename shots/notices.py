"""What on the floor needs a hand, for the Today page."""

from datetime import timedelta

from django.urls import reverse

from shots.models import Session
from shots.today import films_today
from studio.notices import Notice, source

# Nobody shoots this long without a break for the night: the session was left open.
FORGOTTEN_AFTER = timedelta(hours=16)


@source
def forgotten_sessions(request) -> list[Notice]:
    """Sessions somebody began and nobody finished."""
    left_open = Session.objects.open().filter(started_at__lt=request.now - FORGOTTEN_AFTER)
    return [
        Notice(
            f"The session of {session.day:%A %-d %B} on {session.production.title} was never "
            "finished. Finish it with the time it really ended.",
            reverse("shots:session", args=[session.production.code, session.pk]),
        )
        for session in left_open.select_related("production")
    ]


@source
def films_at_risk(request) -> list[Notice]:
    """What the forecast of each running film warns of: what it costs in days, what would do."""
    return [
        Notice(
            f"{film.production.title}: {concern.sentence} {concern.remedy}",
            reverse("shots:film", args=[film.production.code]),
        )
        for film in films_today(request)
        for concern in film.left.concerns(request.studio)
    ]

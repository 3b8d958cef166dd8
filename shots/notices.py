"""What on the floor needs a hand, for the Today page."""

from datetime import timedelta

from django.db.models import Count
from django.urls import reverse

from shots.models import Picture
from shots.today import films_today, open_today
from studio.notices import Notice, source

# Nobody shoots this long without a break for the night: the session was left open.
FORGOTTEN_AFTER = timedelta(hours=16)


@source
def forgotten_sessions(request) -> list[Notice]:
    """Sessions somebody began and nobody finished."""
    return [
        Notice(
            f"The session of {session.day:%A %-d %B} on {session.production.title} was never "
            "finished. Finish it with the time it really ended.",
            reverse("shots:session", args=[session.production.code, session.pk]),
        )
        for session in open_today(request)
        if session.started_at < request.now - FORGOTTEN_AFTER
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


@source
def flagged_pictures(request) -> list[Notice]:
    """Pictures with a fault nobody has decided on, while the set may still stand."""
    films = (
        Picture.objects.flagged()
        .filter(shot__production__stage="running", shot__production__archived_at__isnull=True)
        .filter(shot__archived_at__isnull=True)
        .order_by("shot__production__title")
        .values_list("shot__production__code", "shot__production__title")
        .annotate(count=Count("pk"))
    )
    return [
        Notice(
            f"{count} picture{'s' if count > 1 else ''} of {title} {'are' if count > 1 else 'is'} "
            "flagged. Look before the set is struck.",
            reverse("shots:picture_shots", args=[code]),
        )
        for code, title, count in films
    ]

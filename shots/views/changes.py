"""What happened to a shot or a session, and the way back."""

from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from shots.queries import changes as queries
from shots.views.productions import get_production
from shots.views.session_running import get_session
from shots.views.shots import get_shot


@require_GET
def shot_changes(request, code: str, pk: int):
    """Who changed a shot, what, and when."""
    shot = get_shot(get_production(code), pk)
    page = reverse("shots:shot", args=[shot.production.code, pk])
    context = {
        "production": shot.production,
        "name": f"shot {shot.code}",
        "moments": queries.shot_moments(shot),
        "back": page,
        "open_at": page,
    }
    return render(request, "studio/changes.html", context)


@require_GET
def session_changes(request, code: str, pk: int):
    """Who changed a session, what, and when."""
    session = get_session(code, pk)
    address = [session.production.code, pk]
    correctable = session.ended_at and not session.archived_at
    context = {
        "production": session.production,
        "name": f"the session of {session.day:%-d %B %Y}",
        "moments": queries.session_moments(session),
        "back": reverse("shots:session", args=address),
        "open_at": reverse("shots:session_correct", args=address) if correctable else "",
    }
    return render(request, "studio/changes.html", context)

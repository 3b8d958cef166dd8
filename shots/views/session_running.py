"""The session page beside the set: counting, breaks, what went wrong, finishing."""

from functools import wraps
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shots.forms.session import AddForm, FinishForm, IncidentForm, SetForm
from shots.models import Session, Shot
from shots.queries import sessions as queries
from shots.services import session_counts
from shots.services import sessions as services
from shots.views.productions import get_production
from studio.errors import EditedMeanwhile, NotPossible
from studio.web import CONFLICT, DONE, INVALID, save_or_explain, wants_part


def get_session(code: str, pk: int) -> Session:
    """The session of that production, or 404."""
    return get_object_or_404(
        Session.objects.select_related("production", "setup"),
        production=get_production(code),
        pk=pk,
    )


def refusals_said(view):
    """A refused act of a plain button leads back to the session, with the sentence on top."""

    @wraps(view)
    def act(request, code: str, pk: int, *args, **kwargs):
        try:
            return view(request, code, pk, *args, **kwargs)
        except NotPossible as refusal:
            messages.error(request, refusal.sentence)
            return redirect("shots:session", code, pk)

    return act


@require_POST
@refusals_said
def session_count(request, code: str, pk: int, shot_pk: int):
    """Add to a count (a tap), or set it (a number typed)."""
    row = get_session(code, pk)
    shot = get_object_or_404(Shot.objects.in_film(), production=row.production, pk=shot_pk)
    typed = "add" not in request.POST
    form = SetForm(request.POST) if typed else AddForm(request.POST)
    said = {"status": DONE}
    if not form.is_valid():
        said |= {"status": INVALID, "refusal": _first_error(form)}
    elif typed:
        said |= _set(row, shot, form.cleaned_data)
    else:
        said |= _add(row, shot, form.cleaned_data)
    return _counted(request, row, shot, said)


def _add(row: Session, shot: Shot, tap: dict) -> dict:
    try:
        session_counts.add_pictures(row, shot, tap["count"], tap["add"])
    except NotPossible as refusal:
        return {"status": INVALID, "refusal": refusal.sentence}
    return {"by": tap["add"]}


def _set(row: Session, shot: Shot, typed: dict) -> dict:
    try:
        by = session_counts.set_pictures(row, shot, typed["count"], typed["value"], typed["read"])
    except NotPossible as refusal:
        return {"status": INVALID, "refusal": refusal.sentence}
    except EditedMeanwhile as meanwhile:
        stands = getattr(meanwhile.current, typed["count"])
        return {"status": CONFLICT, "stands": stands, "typed": typed["value"]}
    return {"by": by}


def _first_error(form) -> str:
    return next(iter(form.errors.values()))[0]


def _counted(request, row: Session, shot: Shot, said: dict):
    """The number, the shot's line, the totals and what was said: as parts, or the whole page."""
    count = request.POST.get("count")
    said["count"] = count = count if count in session_counts.COUNTS else "kept"
    if not wants_part(request):
        return _counted_page(request, row, shot, said)
    if said.get("by") == 0 and request.POST.get("read") == request.POST.get("value"):
        return HttpResponse(status=204)  # the Enter key sends a number a second time
    tally = queries.tally(row, shot.pk)
    context = said | {
        "production": row.production,
        "session": row,
        "tally": tally,
        "value": getattr(tally, count),
        "totals": queries.session_totals(row),
    }
    return render(request, "shots/_session_counted.html", context, status=said["status"])


def _counted_page(request, row: Session, shot: Shot, said: dict):
    if said["status"] == DONE:
        undo = urlencode({"shot": shot.pk, "count": said["count"], "add": said["by"]})
        here = reverse("shots:session", args=[row.production.code, row.pk])
        return redirect(f"{here}?{undo}#shot-{shot.pk}")
    if row.ended_at is not None:
        raise NotPossible(said["refusal"])
    return running_page(request, row, shot.pk, said)


def running_page(request, row: Session, shot_pk: int | None, said: dict):
    """The page beside the set, with what the last tap did or why it was refused (`said`)."""
    page = queries.running_page(row, request.now, shot_pk)
    tally = next((tally for tally in page.tallies if tally.shot.pk == shot_pk), None)
    context = said | {
        "production": row.production,
        "session": row,
        "page": page,
        "totals": page.totals,
        "tally": tally,
        "kinds": IncidentForm.KINDS,
    }
    status = said.get("status", DONE)
    return render(request, "shots/session_running.html", context, status=status)


@require_POST
@refusals_said
def session_shot_status(request, code: str, pk: int, shot_pk: int):
    """Say that a shot is shot, or still shooting."""
    row = get_session(code, pk)
    shot = get_object_or_404(Shot.objects.current(), production=row.production, pk=shot_pk)
    shot = session_counts.mark_shot(shot, is_done=request.POST.get("status") == Shot.Status.SHOT)
    messages.success(request, f"{shot.code} is {shot.get_status_display()}.")
    return redirect(reverse("shots:session", args=[code, pk]) + f"?shot={shot.pk}#shot-{shot.pk}")


@require_POST
@refusals_said
def session_incident(request, code: str, pk: int):
    """Note what went wrong, and at which picture."""
    row = get_session(code, pk)
    form = IncidentForm(request.POST, production=row.production)
    back = "#incidents"
    if form.is_valid():
        noted = form.cleaned_data
        incident = services.note_incident(
            row,
            noted["kind"],
            noted["shot"],
            noted["picture"],
            noted["note"],
            request.user,
            request.now,
        )
        messages.success(request, f"Noted: {_incident_spoken(incident)}.")
        if incident.shot:
            back = f"?shot={incident.shot.pk}#shot-{incident.shot.pk}"
    else:
        messages.error(request, _first_error(form))
    return redirect(reverse("shots:session", args=[code, pk]) + back)


def _incident_spoken(incident) -> str:
    where = f", {incident.shot.code} at picture {incident.picture}" if incident.shot else ""
    return f"{incident.get_kind_display()}{where}"


@require_POST
@refusals_said
def session_incident_take_back(request, code: str, pk: int, incident_pk: int):
    """Undo a note."""
    incident = get_object_or_404(get_session(code, pk).incidents, pk=incident_pk)
    services.take_back_incident(incident)
    messages.success(request, f"Taken back: {incident}.")
    return redirect(reverse("shots:session", args=[code, pk]) + "#incidents")


@require_POST
@refusals_said
def session_check(request, code: str, pk: int, check_pk: int):
    """Tick a pre-shoot check that was left out at the start."""
    check = get_object_or_404(get_session(code, pk).checks, pk=check_pk)
    services.tick_check(check, request.user, request.now)
    return redirect(reverse("shots:session", args=[code, pk]) + "#checks")


@require_POST
@refusals_said
def session_pause(request, code: str, pk: int):
    """Begin a break."""
    services.pause(get_session(code, pk), request.now)
    return redirect("shots:session", code, pk)


@require_POST
@refusals_said
def session_resume(request, code: str, pk: int):
    """End a break."""
    row = services.resume(get_session(code, pk), request.now)
    messages.success(request, f"Shooting again. Breaks so far: {row.break_minutes} min.")
    return redirect("shots:session", code, pk)


@refusals_said
def session_finish(request, code: str, pk: int):
    """Finish, with set-up time and breaks."""
    row = get_session(code, pk)
    if row.ended_at is not None:
        return redirect("shots:session", code, pk)
    spent = {
        "setup_minutes": row.setup_minutes,
        "break_minutes": services.breaks_so_far(row, request.now),
        "notes": row.notes,
    }
    form = FinishForm(request.POST or None, initial=spent)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.finish_session(
                row,
                form.cleaned_data["ended"],
                form.cleaned_data["setup_minutes"],
                form.cleaned_data["break_minutes"],
                form.cleaned_data["notes"],
                request.now,
            ),
        )
        if status == DONE:
            messages.success(request, "Finished. Well shot.")
            return redirect("shots:session", code, pk)
    context = {"form": form, "production": row.production, "session": row}
    return render(request, "shots/session_finish.html", context, status=status)


@require_POST
@refusals_said
def session_reopen(request, code: str, pk: int):
    """Undo finishing."""
    services.reopen_session(get_session(code, pk))
    messages.success(request, "The session runs on.")
    return redirect("shots:session", code, pk)

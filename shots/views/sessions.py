"""Sessions: the list by day, starting one, its page, entering and correcting one whole."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from shots.forms.session import AddForm, SessionForm, StartForm, past_entries
from shots.models import Production, Session
from shots.queries import sessions as queries
from shots.queries.changes import session_as_it_stood
from shots.queries.pictures import discarded_in
from shots.services import sessions as services
from shots.trade.session_times import SessionTimes, spoken
from shots.views.productions import get_production
from shots.views.session_running import get_session, refusals_said, running_page
from studio.web import DONE, past_asked, save_or_explain


def sessions(request, code: str):
    """The sessions of a production by day, newest first."""
    page = queries.sessions(get_production(code), request.GET.get("page"))
    return render(request, "shots/sessions.html", {"page": page, "production": page.production})


def sessions_archived(request, code: str):
    """Sessions put aside."""
    production = get_production(code)
    context = {"production": production, "sessions": queries.archived_sessions(production)}
    return render(request, "shots/sessions_archived.html", context)


def session_start(request, code: str):
    """Choose set-up and people, tick the checks, start. While one runs, leads to it."""
    production = get_production(code)
    running = queries.running_session(production)
    if running:
        messages.info(request, "This session is running. Finish it before you start another.")
        return redirect("shots:session", production.code, running.pk)
    chosen = {"setup": request.GET.get("setup"), "people": [request.user.pk]}
    form = StartForm(request.POST or None, production=production, initial=chosen)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: _start(request, production, form))
        if status == DONE:
            running = queries.running_session(production)
            return redirect("shots:session", production.code, running.pk)
    context = {"form": form, "production": production}
    return render(request, "shots/session_start.html", context, status=status)


def _start(request, production: Production, form: StartForm) -> None:
    chosen = form.cleaned_data
    session = services.start_session(
        production, chosen["setup"], chosen["people"], form.ticked, request.user, request.now
    )
    unticked = session.checks.filter(ticked_at__isnull=True).count()
    if unticked:
        messages.warning(
            request,
            f"Started with {unticked} check{'s' if unticked > 1 else ''} unticked: "
            "see them at the foot of this page.",
        )


def session(request, code: str, pk: int):
    """A session: beside the set while it runs, its record afterwards."""
    row = get_session(code, pk)
    if row.ended_at is None and row.archived_at is None:
        wanted = request.GET.get("shot", "")
        tapped = AddForm(request.GET)
        said = {}
        if tapped.is_valid():  # a tap without JavaScript led here: offer to undo it
            said = {"count": tapped.cleaned_data["count"], "by": tapped.cleaned_data["add"]}
        return running_page(request, row, int(wanted) if wanted.isdecimal() else None, said)
    page = queries.session_page(row)
    context = {
        "production": row.production,
        "session": row,
        "page": page,
        "discarded_pictures": discarded_in(row),
    }
    return render(request, "shots/session.html", context)


def session_enter(request, code: str):
    """Enter a session that was shot without the page beside the set."""
    production = get_production(code)
    form = SessionForm(
        request.POST or None,
        production=production,
        shots=queries.countable_shots(production),
        initial={
            "day": request.today,
            "people": [request.user.pk],
            "setup_minutes": 0,
            "break_minutes": 0,
        },
    )
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.enter_session(
                production, form.changes, form.cleaned_data["people"], form.counts, request.now
            ),
        )
        if status == DONE:
            _say_saved(request, form)
            return redirect("shots:sessions", production.code)
    context = {"form": form, "production": production}
    return render(request, "shots/session_edit.html", context, status=status)


def session_correct(request, code: str, pk: int):
    """Correct a finished session."""
    row = get_session(code, pk)
    if row.ended_at is None or row.archived_at is not None:
        messages.info(request, "Only a finished session is corrected.")
        return redirect("shots:session", code, pk)
    production = row.production
    stood = session_as_it_stood(Session.objects.get(pk=pk), past_asked(request, row))
    form = SessionForm(
        request.POST or None,
        instance=stood.session,
        initial=past_entries(stood),
        production=production,
        shots=queries.countable_shots(production, row),
    )
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.correct_session(
                row,
                form.version_seen,
                form.changes,
                form.cleaned_data["people"],
                form.counts,
                request.now,
            ),
        )
        if status == DONE:
            _say_saved(request, form)
            return redirect("shots:session", production.code, pk)
    context = {"form": form, "production": production, "session": row}
    return render(request, "shots/session_edit.html", context, status=status)


def _say_saved(request, form: SessionForm) -> None:
    times = SessionTimes(*form.cleaned_data["moments"])
    if times.is_long:
        messages.warning(
            request, f"Saved, but it is {spoken(times.length)} long: look at its times again."
        )
    else:
        messages.success(request, f"Saved: {spoken(times.length)} on {times.started:%d.%m.%Y}.")


@require_POST
def session_archive(request, code: str, pk: int):
    """Put a session aside; its page offers to bring it back."""
    services.archive_session(get_session(code, pk), request.now)
    messages.success(request, "The session was archived: its pictures no longer count.")
    return redirect("shots:session", code, pk)


@require_POST
@refusals_said
def session_restore(request, code: str, pk: int):
    """Bring an archived session back."""
    services.restore_session(get_session(code, pk), request.now)
    messages.success(request, "The session is back.")
    return redirect("shots:session", code, pk)

"""What views share: who may pass, whole page or part, invalid forms, and two people at once."""

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from studio.changes import Past, past_of
from studio.errors import EditedMeanwhile, NotPossible

DONE = 200
INVALID = 422  # the part comes back with its errors; base.html lets htmx swap it
CONFLICT = 409  # somebody else saved first


def owner_required(view: Callable) -> Callable:
    """Let only the owner in; crew get a plain refusal."""

    @wraps(view)
    def guarded(request: HttpRequest, *args, **kwargs):
        if not request.user.is_owner:
            raise PermissionDenied("This page is the owner's.")
        return view(request, *args, **kwargs)

    return guarded


def wants_part(request: HttpRequest) -> bool:
    """Whether htmx asks for a part. A history restore and a boosted link need the whole page."""
    htmx = request.htmx
    return bool(htmx) and not htmx.boosted and not htmx.history_restore_request


def page_or_part(
    request: HttpRequest, page: str, part: str, context: dict, status: int = 200
) -> HttpResponse:
    """The part for htmx, the whole page (which includes that part) for everybody else."""
    response = render(request, part if wants_part(request) else page, context, status=status)
    response.headers["Vary"] = "HX-Request"
    return response


def save_or_explain(form, act: Callable[[], object]) -> int:
    """Call `act` if the form is valid, and say how it went as a status.

    200: done. 422: not valid, or refused with the sentence at its field. 409: somebody else saved
    meanwhile; the form now shows both versions.
    """
    if not form.is_valid():
        return INVALID
    try:
        act()
    except NotPossible as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.sentence)
        return INVALID
    except EditedMeanwhile as meanwhile:
        form.meet(meanwhile.current)
        return CONFLICT
    return DONE


def done_or_said(request: HttpRequest, act: Callable[[], object], words: str = "") -> bool:
    """Call `act` and say `words`, or why it was refused, at the head of the next page."""
    try:
        act()
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return False
    if words:
        messages.success(request, words)
    return True


def past_asked(request: HttpRequest, row: Model) -> Past | None:
    """How a row stood at the moment that `as_at` names, for a page being opened, which then says
    that nothing is saved yet."""
    past = past_of(row, request.GET.get("as_at", "")) if request.method == "GET" else None
    if past:
        messages.info(
            request,
            f"These are the values of {timezone.localtime(past.at):%-d %B %Y, %H:%M:%S}. "
            "Nothing is saved yet: look them through, then save.",
        )
    return past


def safe_next(request: HttpRequest, fallback: str) -> str:
    """Where to go next: the `next` that was sent if it leads to this site, else `fallback`."""
    target = request.POST.get("next") or request.GET.get("next") or ""
    # A path: Django would take a bare word for the name of a page.
    fine = target.startswith("/") and url_has_allowed_host_and_scheme(
        target, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return target if fine else fallback


def pdf_response(content: bytes, filename: str) -> HttpResponse:
    """A PDF the browser shows, and saves under `filename`."""
    response = HttpResponse(content, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{filename}"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def studio_context(request: HttpRequest) -> dict:
    """The studio, for every template."""
    return {"studio": getattr(request, "studio", None), "today": getattr(request, "today", None)}

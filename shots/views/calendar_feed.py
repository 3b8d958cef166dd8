"""The calendar: download, private links, and the feed they lead to."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from shots.forms.plan import LinkForm
from shots.models import Production
from shots.queries.calendar_feed import calendar_events
from shots.services import calendar_links as services
from shots.views.productions import get_production
from studio.trade.ical import calendar_text
from studio.web import DONE, INVALID


def calendar_links(request, code: str):
    """The links there are; a post makes one and shows its address this once."""
    production = get_production(code)
    form = LinkForm(request.POST or None)
    address, status = "", DONE
    if request.method == "POST":
        status = INVALID
        if form.is_valid():
            label = form.cleaned_data["label"]
            _, secret = services.make_link(production, label, request.user, request.now)
            address = request.build_absolute_uri(reverse("shots:calendar_feed", args=[secret]))
            form, status = LinkForm(), DONE
    context = {
        "production": production,
        "form": form,
        "links": production.calendar_links.select_related("made_by"),
        "address": address,
        "now": request.now,
    }
    response = render(request, "shots/calendar_links.html", context, status=status)
    response.headers["Cache-Control"] = "no-store"
    return response


@require_POST
def calendar_link_revoke(request, code: str, pk: int):
    """Close a link for good."""
    production = get_production(code)
    link = get_object_or_404(production.calendar_links, pk=pk)
    services.revoke_link(link, request.now)
    messages.success(request, f"The link for {link.label} answers nobody any more.")
    return redirect("shots:calendar_links", production.code)


def calendar_download(request, code: str):
    """The calendar as a file, as it stands now."""
    production = get_production(code)
    response = _calendar(request, production)
    response.headers["Content-Disposition"] = f'attachment; filename="{production.code}.ics"'
    return response


@login_not_required
@require_safe
def calendar_feed(request, secret: str):
    """The feed behind a private link. A wrong, a revoked and an old one get the same answer."""
    link = services.open_link(secret, request.now)
    if link is None:
        gone = "This calendar link opens nothing any more. Ask the studio for another."
        return HttpResponse(gone, content_type="text/plain; charset=utf-8", status=404)
    response = _calendar(request, link.production)
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


def _calendar(request, production: Production) -> HttpResponse:
    events = calendar_events(production, request.studio, request.today)
    text = calendar_text(production.title, events, request.now)
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response.headers["Cache-Control"] = "private, no-store"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response

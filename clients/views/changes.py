"""What happened to a quote or a file promised, and the way back."""

from dataclasses import replace

from django.http import Http404
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from clients.forms.quote_sheet import sheet_of, typed_sheet
from clients.models import Quote
from clients.queries import changes as queries
from clients.queries.quotes import draft_of, quote_with_parts
from clients.views.deliverables import get_deliverable
from shots.models import Difficulty
from studio.changes import Moment, moments, told
from studio.web import owner_required


@owner_required
@require_GET
def quote_changes(request, pk: int):
    """Who changed a quote, what, and when."""
    quote = quote_with_parts(pk)
    if quote is None:
        raise Http404("There is no such quote.")
    page = reverse("clients:quote", args=[pk])
    context = {
        "name": str(quote),
        "moments": _quote_moments(quote),
        "back": page,
        "open_at": page if quote.is_draft and not quote.archived_at else "",
    }
    return render(request, "studio/changes.html", context)


def _quote_moments(quote: Quote) -> list[Moment]:
    """What happened to a quote and to the rows of its page, newest first."""
    difficulties = [row.name for row in Difficulty.objects.all()]
    kept = {
        one.version: typed_sheet(one.entries, difficulties).said
        for one in quote.kept_versions.all()
    }
    # Saves after the last one that was saved over left the rows alone: they are those of today.
    today, last = sheet_of(draft_of(quote), difficulties).said, max(kept, default=0)
    saves = [
        replace(one, rows=today if one.version > last else kept.get(one.version))
        for one in queries.quote_saves(quote)
    ]
    return told(moments(saves))


@owner_required
@require_GET
def deliverable_changes(request, code: str, pk: int):
    """Who changed a file promised or its checks, what, and when."""
    file = get_deliverable(code, pk)
    address = [file.production.code, pk]
    context = {
        "production": file.production,
        "name": file.name,
        "moments": queries.deliverable_moments(file),
        "back": reverse("clients:deliverables", args=address[:1]),
        "open_at": reverse("clients:deliverable_edit", args=address),
    }
    return render(request, "studio/changes.html", context)

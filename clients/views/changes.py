"""What happened to a quote or a file promised, and the way back."""

from django.http import Http404
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from clients.forms.quote_changes import quote_moments
from clients.queries.changes import deliverable_moments
from clients.queries.quotes import quote_with_parts
from clients.views.deliverables import get_deliverable
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
        "moments": quote_moments(quote),
        "back": page,
        "open_at": page if quote.is_draft and not quote.archived_at else "",
    }
    return render(request, "studio/changes.html", context)


@owner_required
@require_GET
def deliverable_changes(request, code: str, pk: int):
    """Who changed a file promised or its checks, what, and when."""
    file = get_deliverable(code, pk)
    address = [file.production.code, pk]
    context = {
        "production": file.production,
        "name": file.name,
        "moments": deliverable_moments(file),
        "back": reverse("clients:deliverables", args=address[:1]),
        "open_at": reverse("clients:deliverable_edit", args=address),
    }
    return render(request, "studio/changes.html", context)

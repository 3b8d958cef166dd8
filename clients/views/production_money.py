"""A production's money: what is agreed, changed, invoiced and paid. The owner's page."""

from django.http import HttpRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clients.models import ChangeOrder, Quote, QuotePayment
from clients.queries.production_money import production_money as money_of
from clients.services import invoices as services
from shots.views.productions import get_production
from studio.web import done_or_said, owner_required


@owner_required
def production_money(request, code: str):
    """The money page of a production."""
    production = get_production(code)
    context = {"production": production, "page": money_of(production, request.today)}
    return render(request, "clients/production_money.html", context)


@owner_required
@require_POST
def invoice_parts(request, code: str):
    """A draft invoice for the parts that were ticked."""
    production = get_production(code)
    quote = get_object_or_404(Quote, production=production)
    payments = QuotePayment.objects.filter(quote=quote, pk__in=_ticked(request, "payment"))
    changes = ChangeOrder.objects.accepted().filter(quote=quote, pk__in=_ticked(request, "change"))
    started = []
    if not done_or_said(
        request,
        lambda: started.append(services.start_part_invoice(quote, payments, changes)),
        "This is the draft. Look it over, then issue it.",
    ):
        return redirect("clients:production_money", production.code)
    return redirect("clients:invoice", started[0].pk)


def _ticked(request: HttpRequest, kind: str) -> list[int]:
    """Keys of the ticked boxes of one kind, sent as “payment:3”."""
    parts = [one.partition(":") for one in request.POST.getlist("part")]
    return [int(key) for name, _, key in parts if name == kind and key.isdecimal()]

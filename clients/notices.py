"""What at the desk needs a hand, for the Today page."""

from datetime import timedelta

from django.urls import reverse
from django.utils.text import Truncator

from clients.models import ChangeOrder, Quote
from clients.queries.deliveries import changes_asked_for
from clients.queries.invoices import overdue
from clients.queries.money_text import PAGES, money
from studio.notices import Notice, source

# Time enough for one more call before a quote is no longer valid.
SOON = timedelta(days=5)


@source
def answers_about_to_be_due(request) -> list[Notice]:
    """Quotes and change orders that soon lapse without an answer; the owner's business only."""
    if not request.user.is_owner:
        return []
    soon = {"valid_until__gte": request.today, "valid_until__lte": request.today + SOON}
    due_quotes = Quote.objects.waiting().filter(**soon).select_related("client")
    due_changes = ChangeOrder.objects.waiting().filter(**soon).select_related("quote__client")
    return [
        Notice(
            f"{quote.name} for {quote.client} is valid until {quote.valid_until:%-d %B}: ask for "
            "an answer, or make the next revision.",
            reverse("clients:quote", args=[quote.pk]),
        )
        for quote in due_quotes
    ] + [
        Notice(
            f"{order.name} for {order.quote.client} is valid until {order.valid_until:%-d %B}: "
            "ask for an answer.",
            reverse("clients:change_order", args=[order.pk]),
        )
        for order in due_changes
    ]


@source
def overdue_invoices(request) -> list[Notice]:
    """Invoices that should have been paid; the owner's business only."""
    if not request.user.is_owner:
        return []
    return [
        Notice(
            f"{row.invoice.name} to {row.invoice.client}: "
            f"{money(row.stands.outstanding, row.invoice.currency, PAGES)} were due on "
            f"{row.invoice.due_on:%-d %B}. Remind them, or note the payment.",
            reverse("clients:invoice", args=[row.invoice.pk]),
            wrong=True,
        )
        for row in overdue(request.today)
    ]


@source
def changes_clients_asked_for(request) -> list[Notice]:
    """Delivered files that are to be changed; the owner's business only."""
    if not request.user.is_owner:
        return []
    return [
        Notice(
            f"{said.name} asked for a change of {said.of}: {Truncator(said.words).chars(120)}",
            reverse(
                "clients:delivery",
                args=[said.of.delivery.production.code, said.of.delivery.number],
            ),
        )
        for said in changes_asked_for()
    ]

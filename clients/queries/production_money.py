"""A production's money page: what is agreed, what is invoiced, what came in."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clients.models import ChangeOrder, Client, InvoicePart, Quote
from clients.queries.change_orders import accepted_offer, figures_of
from clients.queries.clients import client_of
from clients.queries.invoices import (
    NOTHING,
    InvoiceRow,
    Owed,
    invoices_with_figures,
    owed,
    row_of,
)
from clients.trade.change import PricedChange
from shots.models import Production


@dataclass(frozen=True)
class ChangeRow:
    """A change order in the list; `priced` is None for a draft."""

    order: ChangeOrder
    status: str
    priced: PricedChange | None


@dataclass(frozen=True)
class Part:
    """A part of what was agreed: `name` is what the page's form sends for it."""

    name: str
    label: str
    due_on: date | None
    amount: Decimal
    row: InvoiceRow | None


@dataclass(frozen=True)
class ProductionMoney:
    """Everything about one production's money. Sums are in `currency`, tax included."""

    client: Client | None
    quote: Quote | None
    currency: str
    quoted: Decimal
    agreed: Decimal
    changes: tuple[ChangeRow, ...]
    archived_changes: tuple[ChangeOrder, ...]
    parts: tuple[Part, ...]
    invoices: tuple[InvoiceRow, ...]
    owed: tuple[Owed, ...]

    @property
    def left(self) -> Decimal:
        """What of the agreed price stands on no invoice yet."""
        return sum((part.amount for part in self.parts if part.row is None), NOTHING)


def production_money(production: Production, today: date) -> ProductionMoney:
    """The money page of a production, with or without a quote behind it."""
    papers = invoices_with_figures().filter(production=production, archived_at=None)
    invoices = {one.pk: row_of(one, today) for one in papers}
    quote = _quote_of(production)
    quoted, parts, changes, archived = NOTHING, (), (), ()
    if quote:
        offer = accepted_offer(quote)
        quoted = offer.priced.totals.gross
        orders = list(
            quote.change_orders.select_related("sent", "paid_with").defer(
                "sent__pdf", "sent__paper"
            )
        )
        for order in orders:
            order.quote = quote
        changes = tuple(_change_row(one, today) for one in orders if not one.archived_at)
        archived = tuple(one for one in orders if one.archived_at)
        parts = (*_plan(quote, offer.payments, invoices), *_due_changes(changes, invoices))
    accepted = [one.priced for one in changes if one.order.status == ChangeOrder.Status.ACCEPTED]
    return ProductionMoney(
        client=client_of(production),
        quote=quote,
        currency=quote.currency if quote else "",
        quoted=quoted,
        agreed=quoted + sum((one.totals.gross for one in accepted), NOTHING),
        changes=changes,
        archived_changes=archived,
        parts=parts,
        invoices=tuple(invoices.values()),
        owed=owed(invoices.values()),
    )


def _quote_of(production: Production) -> Quote | None:
    rows = Quote.objects.select_related("client", "sent", "acceptance")
    return rows.defer("sent__pdf", "sent__paper").filter(production=production).first()


def _change_row(order: ChangeOrder, today: date) -> ChangeRow:
    status = "lapsed" if order.has_lapsed(today) else order.get_status_display()
    return ChangeRow(order, status, None if order.is_draft else figures_of(order.sent))


def _plan(quote: Quote, amounts: tuple[Decimal, ...], invoices: dict[int, InvoiceRow]):
    payments = list(quote.payments.all())
    standing = _claimed_by(InvoicePart.objects.filter(payment__in=payments), "payment_id")
    return tuple(
        Part(
            f"payment:{payment.pk}",
            payment.milestone,
            payment.due_on,
            amount,
            invoices.get(standing.get(payment.pk)),
        )
        for payment, amount in zip(payments, amounts, strict=True)
    )


def _due_changes(changes: tuple[ChangeRow, ...], invoices: dict[int, InvoiceRow]):
    accepted = [one for one in changes if one.order.status == ChangeOrder.Status.ACCEPTED]
    orders = [one.order for one in accepted]
    standing = _claimed_by(InvoicePart.objects.filter(change_order__in=orders), "change_order_id")
    return tuple(
        Part(
            f"change:{one.order.pk}",
            f"{one.order.name}, {one.order.due}",
            None,
            one.priced.totals.gross,
            invoices.get(standing.get(one.order.pk)),
        )
        for one in reversed(accepted)
        if one.priced.totals.gross
    )


def _claimed_by(parts, key: str) -> dict[int, int]:
    """Which invoice stands for each part, by the part's key."""
    return dict(parts.filter(claimed=True).values_list(key, "invoice_id"))

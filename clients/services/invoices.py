"""What a person does with an invoice: draft it, issue it, credit it, note what came in."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from clients.models import (
    ChangeOrder,
    Client,
    Invoice,
    InvoiceLine,
    InvoicePart,
    IssuedInvoice,
    Payment,
    Quote,
    QuotePayment,
)
from clients.queries import invoices as queries
from clients.queries.invoice_paper import paper_of, pdf_of
from clients.services.papers import keep_paper
from clients.trade.invoice import due_date
from clients.trade.quoting.errors import QuoteError, check_coins, check_number
from shots.models import Production
from studio import services as house
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Studio
from studio.queries import next_number

LARGEST_INVOICE = 10**11
EARLIEST = timedelta(days=366)


@transaction.atomic
def start_invoice(client: Client, title: str, production: Production | None = None) -> Invoice:
    """A new draft of lines of its own."""
    return Invoice.objects.create(
        client=client,
        production=production,
        title=title,
        currency=client.currency,
        terms_days=client.payment_days,
        **queries.words_of_last(client),
    )


@transaction.atomic
def start_part_invoice(
    quote: Quote, payments: Iterable[QuotePayment], changes: Iterable[ChangeOrder]
) -> Invoice:
    """A new draft for parts of what was agreed; changes to be paid with one of them go with it.

    Raises NotPossible for one invoiced already.
    """
    Quote.objects.select_for_update(of=("self",)).get(pk=quote.pk)
    payments = list(payments)
    changes = {one.pk: one for one in (*changes, *queries.changes_paid_with(payments))}
    parts = [InvoicePart(payment=one) for one in payments]
    parts += [InvoicePart(change_order=one) for one in changes.values()]
    if not parts:
        raise NotPossible("Choose at least one part of the plan, or one change.")
    for part in parts:
        _refuse_claimed(part)
    what = ", ".join(str(one.payment or one.change_order.name) for one in parts)
    invoice = start_invoice(quote.client, f"{quote.title}: {what}"[:200], quote.production)
    invoice.currency, invoice.language = quote.currency, quote.language
    invoice.tax_note = invoice.tax_note or quote.tax_note
    invoice.save(update_fields=["currency", "language", "tax_note"])
    for part in parts:
        part.invoice = invoice
    InvoicePart.objects.bulk_create(parts)
    return invoice


def _refuse_claimed(part: InvoicePart) -> None:
    same = {"payment": part.payment} if part.payment else {"change_order": part.change_order}
    other = InvoicePart.objects.filter(claimed=True, **same).exclude(pk=part.pk).first()
    if other:
        raise NotPossible(f"“{part}” stands on {other.invoice} already: go on with that one.")


@transaction.atomic
def save_invoice(
    invoice: Invoice, read_version: int, fields: dict, lines: Iterable[dict]
) -> Invoice:
    """Save a draft whole: its words and terms, and its own lines anew. Raises NotPossible for a
    credit beyond what is left."""
    current = _draft(invoice)
    if current.version != read_version:
        raise EditedMeanwhile(current)
    for name, value in fields.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    current.lines.all().delete()
    InvoiceLine.objects.bulk_create(InvoiceLine(invoice=current, **line) for line in lines)
    if current.is_credit:
        _summed(current, "credit_amount")
    return current


@transaction.atomic
def start_credit(invoice: Invoice, amount: Decimal | None, reason: str) -> Invoice:
    """A draft of a credit note for a sum with tax, or for all that is left. Raises NotPossible."""
    whole = locked(invoice)
    if whole.is_draft or whole.is_credit:
        raise NotPossible(f"{whole.name} cannot be credited: only an issued invoice can.")
    if amount is not None:
        _check_sum(amount, whole.currency)
    note = Invoice.objects.create(
        kind=Invoice.Kind.CREDIT,
        client=whole.client,
        production=whole.production,
        credits=whole,
        credit_amount=amount,
        title=whole.title,
        reason=reason,
        currency=whole.currency,
        language=whole.language,
        tax_note=whole.tax_note,
    )
    _summed(note, "amount")
    return note


def _summed(invoice: Invoice, field: str | None = None):
    """What a draft comes to. Raises NotPossible where it comes to nothing that can be."""
    try:
        summed = queries.draft_sum(invoice)
        check_number("amount", summed.totals.gross, "The sum with tax", most=LARGEST_INVOICE)
    except QuoteError as error:
        raise NotPossible(error.sentence, field) from error
    return summed


@transaction.atomic
def issue_invoice(invoice: Invoice, issued_on: date, studio: Studio, today: date) -> Invoice:
    """Give it the next number of its year, keep its PDF and figures, and freeze it.

    Raises NotPossible for what is no invoice yet, and at "issued_on" for a date out of order.
    """
    # One number after another without gaps: whoever issues, issues alone.
    Studio.objects.select_for_update().get(pk=studio.pk)
    current = _draft(invoice)
    _check_date(current, issued_on, today)
    summed = _summed(current)
    current.year = issued_on.year
    current.number = next_number(Invoice.objects.filter(year=issued_on.year))
    current.status, current.issued_on = Invoice.Status.ISSUED, issued_on
    current.gross = summed.totals.gross
    if not current.is_credit:
        current.due_on = due_date(issued_on, current.terms_days)
    current.version += 1
    current.save()
    paper = paper_of(current, summed, studio, issued_on)
    keep_paper(IssuedInvoice, pdf_of(paper), summed, paper, invoice=current)
    if current.is_credit:
        _let_go_if_credited_whole(current.credits)
    return current


def _check_date(invoice: Invoice, issued_on: date, today: date) -> None:
    last = queries.last_issued()
    if issued_on > today:
        raise NotPossible("That day is not here yet: date it today or earlier.", "issued_on")
    if last and issued_on < last.issued_on:
        raise NotPossible(
            f"{last.name} is dated {last.issued_on:%-d %B %Y}: a later number cannot have an "
            "earlier date.",
            "issued_on",
        )
    if issued_on < today - EARLIEST:
        raise NotPossible("That is more than a year ago: see that the year is right.", "issued_on")


def _let_go_if_credited_whole(invoice: Invoice) -> None:
    whole = queries.invoice_with_parts(invoice.pk)
    if queries.credited(whole) == queries.gross_as_issued(whole.issued):
        whole.parts.update(claimed=False)


@transaction.atomic
def archive_invoice(invoice: Invoice, now: datetime) -> None:
    """Put a draft aside; its parts can be invoiced otherwise."""
    current = _draft(invoice)
    current.parts.update(claimed=False)
    house.archive(current, now)


@transaction.atomic
def restore_invoice(invoice: Invoice) -> None:
    """Bring a draft back. Raises NotPossible where a part of it was invoiced meanwhile."""
    current = _draft(invoice)
    for part in current.parts.all():
        _refuse_claimed(part)
    current.parts.update(claimed=True)
    house.restore(current)


@transaction.atomic
def note_payment(
    invoice: Invoice, amount: Decimal, paid_on: date, note: str, today: date
) -> Payment:
    """Note money that came in, all of it or a part. Raises NotPossible at the entry."""
    row = _standing(invoice, paid_on, amount, today)
    owed, currency = row.stands.outstanding, invoice.currency
    if amount > owed:
        raise NotPossible(
            f"That is {amount - owed} {currency} more than the {owed} {currency} still to pay: "
            "note no more here, and the rest where it belongs.",
            "amount",
        )
    return Payment.objects.create(invoice=invoice, amount=amount, paid_on=paid_on, note=note)


@transaction.atomic
def note_refund(
    invoice: Invoice, amount: Decimal, paid_on: date, note: str, today: date
) -> Payment:
    """Note money paid back, where more came in than was due. Raises NotPossible at the entry."""
    row = _standing(invoice, paid_on, amount, today)
    over, currency = -row.stands.outstanding, invoice.currency
    if amount > over:
        raise NotPossible(
            f"Only {max(over, Decimal(0))} {currency} more came in than was due: pay back no more.",
            "amount",
        )
    return Payment.objects.create(invoice=invoice, amount=-amount, paid_on=paid_on, note=note)


def _standing(invoice: Invoice, paid_on: date, amount: Decimal, today: date):
    """Where a locked invoice stands, if money may be noted on it at all."""
    current = locked(invoice)
    if current.is_draft or current.is_credit:
        raise NotPossible(f"{current.name} takes no payment: only an issued invoice does.")
    if paid_on > today:
        raise NotPossible("That day is not here yet: note it when it has come in.", "paid_on")
    if paid_on < current.issued_on:
        raise NotPossible(
            f"The invoice is dated {current.issued_on:%-d %B %Y}: money for it comes later.",
            "paid_on",
        )
    _check_sum(amount, current.currency)
    return queries.row_of(queries.invoice_with_parts(current.pk), today)


def _check_sum(amount: Decimal, currency: str) -> None:
    """Raise NotPossible at "amount" for a sum that cannot be paid."""
    try:
        check_number("amount", amount, "The sum", most=LARGEST_INVOICE, above_least=True)
        check_coins("amount", amount, "The sum", currency)
    except QuoteError as error:
        raise NotPossible(error.sentence, "amount") from error


@transaction.atomic
def take_back_payment(payment: Payment, now: datetime) -> None:
    """It was noted by mistake: put it aside."""
    locked(payment.invoice)
    house.archive(payment, now)


@transaction.atomic
def restore_payment(payment: Payment, today: date) -> None:
    """Undo `take_back_payment`. Raises NotPossible where it is more than is due by now."""
    invoice = locked(payment.invoice)
    owed = queries.row_of(queries.invoice_with_parts(invoice.pk), today).stands.outstanding
    if payment.archived_at and payment.amount > max(owed, Decimal(0)):
        raise NotPossible(f"Only {owed} {invoice.currency} are still to pay: note it anew.")
    house.restore(payment)


def locked(invoice: Invoice) -> Invoice:
    """The invoice as it now stands; whoever else wants to change it waits."""
    rows = Invoice.objects.select_related("client", "production", "credits")
    return rows.select_for_update(of=("self",)).get(pk=invoice.pk)


def _draft(invoice: Invoice) -> Invoice:
    current = locked(invoice)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was issued: it stays as it is. Credit it instead.")
    return current

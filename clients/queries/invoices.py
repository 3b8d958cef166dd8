"""What the invoice pages show: a draft's sum, where an issued one stands, the lists."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.paginator import Page, Paginator
from django.db.models import (
    Case,
    DecimalField,
    F,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from clients.documents.invoice import CreditNotePaper, InvoicePaper
from clients.models import (
    ChangeOrder,
    Client,
    Invoice,
    IssuedInvoice,
    Payment,
    Quote,
    QuotePayment,
)
from clients.queries.change_orders import accepted_offer, figures_of
from clients.trade.frozen import thaw
from clients.trade.invoice import (
    Booking,
    InvoiceSum,
    Standing,
    accountant_csv,
    credit_note,
    invoice_line,
    payment_invoice,
    plain_invoice,
    standing,
    together,
)
from studio.trade.money import quantize

NOTHING = Decimal(0)
UNDER_A_COIN = Decimal("0.00005")  # half the smallest of any currency (ISO 4217: 4 decimals)


def invoices_with_figures() -> QuerySet[Invoice]:
    """Issued invoices and credit notes with all that says where they stand, in four queries."""
    notes = Invoice.objects.issued().select_related("issued").defer(*_UNREAD)
    rows = Invoice.objects.select_related("client", "production", "issued", "credits")
    return rows.defer(*_UNREAD).prefetch_related(
        Prefetch("payments", Payment.objects.current(), to_attr="current_payments"),
        Prefetch("credit_notes", notes, to_attr="issued_credits"),
    )


_UNREAD = ("issued__pdf", "issued__paper")


def issued_paper(invoice: Invoice) -> InvoicePaper | CreditNotePaper:
    """What the PDF that was issued says."""
    kind = CreditNotePaper if invoice.is_credit else InvoicePaper
    return thaw(kind, invoice.issued.paper)


def sum_as_issued(issued: IssuedInvoice) -> InvoiceSum:
    """What an issued invoice or credit note comes to, exactly as it was frozen."""
    return thaw(InvoiceSum, issued.figures)


def gross_as_issued(issued: IssuedInvoice) -> Decimal:
    """What an issued invoice or credit note comes to with tax: all that a list needs of it."""
    return Decimal(issued.figures["totals"]["gross"])


def draft_sum(invoice: Invoice) -> InvoiceSum:
    """What a draft comes to as it stands. Raises QuoteError."""
    if invoice.is_credit:
        return _credit_sum(invoice)
    sums = [*_part_sums(invoice), *_own_sum(invoice)]
    return together(sums, invoice.currency)


def changes_paid_with(payments: Iterable[QuotePayment]) -> QuerySet[ChangeOrder]:
    """Accepted changes to be paid with these parts of the plan that stand on no invoice yet."""
    orders = ChangeOrder.objects.accepted().filter(paid_with__in=payments)
    return orders.exclude(invoice_parts__claimed=True)


def _own_sum(invoice: Invoice) -> list[InvoiceSum]:
    lines = [
        invoice_line(row.label, row.quantity, row.price, row.tax_rate, invoice.currency)
        for row in invoice.lines.all()
    ]
    return [plain_invoice(lines, invoice.currency)] if lines else []


def _part_sums(invoice: Invoice) -> list[InvoiceSum]:
    sums = []
    for part in invoice.parts.select_related("payment__quote", "change_order__sent"):
        if part.payment:
            sums.append(_payment_sum(part.payment))
        else:
            order = part.change_order
            whole = figures_of(order.sent).totals
            label = f"{order.name}: {order.title}"
            sums.append(payment_invoice(whole, [whole.gross], 0, label))
    return sums


def _payment_sum(payment) -> InvoiceSum:
    quote = payment.quote
    offer = accepted_offer(quote)
    place = list(quote.payments.values_list("pk", flat=True)).index(payment.pk)
    label = f"{quote.title}, {payment.milestone} ({quote.name[0].lower()}{quote.name[1:]})"
    return payment_invoice(offer.priced.totals, offer.payments, place, label)


def _credit_sum(note: Invoice) -> InvoiceSum:
    whole = invoices_with_figures().get(pk=note.credits_id)
    label = f"{whole.name}: {whole.title}"
    totals = sum_as_issued(whole.issued).totals
    return credit_note(totals, credited(whole), note.credit_amount, label)


def credited(invoice: Invoice) -> Decimal:
    """What was credited of an invoice so far, tax included."""
    return sum((gross_as_issued(one.issued) for one in invoice.issued_credits), NOTHING)


@dataclass(frozen=True)
class InvoiceRow:
    """An invoice or credit note with what it comes to; `stands` is None for drafts and credits."""

    invoice: Invoice
    gross: Decimal | None
    stands: Standing | None = None

    @property
    def words(self) -> str:
        """How it stands, in words."""
        if self.stands:
            return self.stands.words
        return "draft" if self.invoice.is_draft else "issued"

    @property
    def state(self) -> str:
        """The state the list is filtered by."""
        if self.invoice.is_draft:
            return "draft"
        if self.invoice.is_credit:
            return "credit"
        if self.stands.days_overdue:
            return "overdue"
        return "open" if self.stands.outstanding else "settled"


def row_of(invoice: Invoice, today: date) -> InvoiceRow:
    """How one of `invoices_with_figures` stands today. A draft's sum is for its own page."""
    if invoice.is_draft:
        return InvoiceRow(invoice, None)
    gross = gross_as_issued(invoice.issued)
    if invoice.is_credit:
        return InvoiceRow(invoice, gross)
    paid = quantize(
        sum((one.amount for one in invoice.current_payments), NOTHING), invoice.currency
    )
    return InvoiceRow(
        invoice, gross, standing(gross, credited(invoice), paid, invoice.due_on, today)
    )


STATES = {
    "": "All",
    "draft": "Drafts",
    "open": "Open",
    "overdue": "Overdue",
    "settled": "Settled",
    "credit": "Credit notes",
}


@dataclass(frozen=True)
class Owed:
    """What is owed in one currency, and how much of it is late."""

    currency: str
    outstanding: Decimal
    overdue: Decimal


ON_A_PAGE = 20


@dataclass(frozen=True)
class InvoiceList:
    """A page of the invoices a filter leaves, what is owed in all, and drafts put aside."""

    rows: tuple[InvoiceRow, ...]
    page: Page
    owed: tuple[Owed, ...]
    years: tuple[int, ...]
    archived: tuple[Invoice, ...]
    has_any: bool


def invoice_list(state: str, year: int | None, page_number: str | None, today: date) -> InvoiceList:
    """Invoices by state and year of their number; drafts have no year and stand in each."""
    everything = invoices_with_figures()
    current = everything.filter(archived_at=None)
    chosen = _of_state(current, state, today)
    chosen = chosen.filter(Q(year=year) | Q(year=None)) if year else chosen
    page = Paginator(chosen.order_by(*DRAFTS_FIRST), ON_A_PAGE).get_page(page_number)
    years = Invoice.objects.issued().order_by("-year").values_list("year", flat=True).distinct()
    return InvoiceList(
        rows=tuple(row_of(one, today) for one in page.object_list),
        page=page,
        owed=owed(row_of(one, today) for one in not_settled(current)),
        years=tuple(years),
        archived=tuple(everything.exclude(archived_at=None)),
        has_any=bool(page.paginator.count) or current.exists(),
    )


# Drafts wait for a hand. Named, because databases differ in where a row without a number comes.
DRAFTS_FIRST = (
    Case(When(status=Invoice.Status.DRAFT, then=0), default=1), "-year", "-number", "-created_at",
    "-id",
)  # fmt: skip


def _of_state(rows: QuerySet[Invoice], state: str, today: date) -> QuerySet[Invoice]:
    """Those of one state of `STATES`, as `InvoiceRow.state` names it."""
    if not state:
        return rows
    if state == "draft":
        return rows.filter(status=Invoice.Status.DRAFT)
    issued = rows.filter(status=Invoice.Status.ISSUED)
    if state == "credit":
        return issued.filter(kind=Invoice.Kind.CREDIT)
    summed, late = _with_sums(issued.filter(kind=Invoice.Kind.INVOICE)), Q(due_on__lt=today)
    if state == "overdue":
        return summed.filter(_OUTSTANDING & late)
    if state == "open":
        return summed.filter(_OUTSTANDING & ~late | _PAID_TOO_MUCH)
    return summed.exclude(_OUTSTANDING | _PAID_TOO_MUCH)


def owed(rows: Iterable[InvoiceRow]) -> tuple[Owed, ...]:
    """What is owed by currency, over the rows that are not paid."""
    found: dict[str, Owed] = {}
    for row in rows:
        if not row.stands or row.stands.outstanding <= 0:
            continue
        so_far = found.get(row.invoice.currency, Owed(row.invoice.currency, NOTHING, NOTHING))
        late = row.stands.outstanding if row.stands.days_overdue else NOTHING
        found[so_far.currency] = Owed(
            so_far.currency, so_far.outstanding + row.stands.outstanding, so_far.overdue + late
        )
    return tuple(found[currency] for currency in sorted(found))


def overdue(today: date) -> list[InvoiceRow]:
    """Invoices that should have been paid by yesterday, and are not."""
    late = _of_state(invoices_with_figures(), "overdue", today)
    rows = [row_of(one, today) for one in late.order_by("due_on", "id")]
    return [row for row in rows if row.state == "overdue"]


def not_settled(rows: QuerySet[Invoice]) -> QuerySet[Invoice]:
    """Without what was paid or credited in full, so that years of paid invoices cost nothing.

    The database counts roughly, which is enough to leave out; what is left is counted exactly.
    """
    return _with_sums(rows).filter(_OUTSTANDING)


MONEY = DecimalField(max_digits=20, decimal_places=5)
_OUTSTANDING = Q(gross__gt=F("paid") + F("credited") + UNDER_A_COIN)
_PAID_TOO_MUCH = Q(gross__lt=F("paid") + F("credited") - UNDER_A_COIN)


def _with_sums(rows: QuerySet[Invoice]) -> QuerySet[Invoice]:
    this = OuterRef("pk")
    return rows.alias(
        credited=_summed(Invoice.objects.issued().filter(credits=this), "gross"),
        paid=_summed(Payment.objects.current().filter(invoice=this), "amount"),
    )


def _summed(rows: QuerySet, amount: str) -> Coalesce:
    """The sum of an amount over the rows of a subquery, 0 for none."""
    in_all = rows.order_by().values(one=Value(1)).annotate(sum=Sum(amount)).values("sum")
    return Coalesce(Subquery(in_all), NOTHING, output_field=MONEY)


def invoice_with_parts(pk: int) -> Invoice | None:
    """An invoice with everything its page reads."""
    return invoices_with_figures().filter(pk=pk).first()


def last_issued() -> Invoice | None:
    """The paper with the highest number."""
    return Invoice.objects.issued().order_by("-year", "-number").first()


def words_of_last(client: Client) -> dict[str, str]:
    """What a new invoice most likely says as well: the tax note and the language.

    Not how to pay: an account that was changed since would print beside the new one.
    """
    last = last_issued()
    quote = Quote.objects.filter(client=client).first()
    return {
        "tax_note": last.tax_note if last else "",
        "language": quote.language if quote else Quote.Language.ENGLISH,
    }


def accountants_list(year: int | None) -> str:
    """The issued papers of a year, or of all years, for the accountant, in order of number."""
    papers = invoices_with_figures().exclude(status=Invoice.Status.DRAFT)
    papers = papers.filter(year=year) if year else papers
    return accountant_csv(
        Booking(
            number=one.reference,
            is_credit=one.is_credit,
            issued=one.issued_on,
            due=one.due_on,
            client=one.client.name,
            totals=sum_as_issued(one.issued).totals,
        )
        for one in papers.order_by("year", "number")
    )

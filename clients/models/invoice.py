"""Invoices, credit notes, and the payments that came in."""

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from clients.models.change_order import ChangeOrder
from clients.models.client import Client
from clients.models.quote import Quote, QuotePayment
from clients.models.sent_paper import KeptPaper
from shots.models import Production
from studio.models import Kept, KeptQuerySet


class InvoiceQuerySet(KeptQuerySet):
    """Invoices and credit notes, in the trade's words."""

    def issued(self) -> "InvoiceQuerySet":
        """Numbered and frozen."""
        return self.filter(status=Invoice.Status.ISSUED)


class Invoice(Kept):
    """An invoice, or a credit note against one. Once issued it never changes.

    Both share one row of numbers, so that a year's papers can be told to be complete.
    """

    class Kind(models.TextChoices):
        INVOICE = "invoice", "Invoice"
        CREDIT = "credit", "Credit note"

    class Status(models.TextChoices):
        DRAFT = "draft", "draft"
        ISSUED = "issued", "issued"

    kind = models.CharField(
        max_length=7, choices=Kind.choices, default=Kind.INVOICE, editable=False
    )
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="invoices")
    production = models.ForeignKey(
        Production, null=True, blank=True, on_delete=models.PROTECT, related_name="invoices"
    )
    credits = models.ForeignKey(
        "self", null=True, on_delete=models.PROTECT, related_name="credit_notes", editable=False
    )
    credit_amount = models.DecimalField(
        "sum to credit", max_digits=16, decimal_places=4, null=True, blank=True,
        help_text="With tax. Left open, all that is left of the invoice.",
    )  # fmt: skip
    year = models.PositiveSmallIntegerField(null=True, editable=False)
    number = models.PositiveIntegerField(null=True, editable=False)
    status = models.CharField(
        max_length=6, choices=Status.choices, default=Status.DRAFT, editable=False
    )
    title = models.CharField("what for", max_length=200)
    reason = models.CharField("why it is credited", max_length=300, blank=True)
    supplied = models.CharField(
        "when supplied",
        max_length=120,
        blank=True,
        help_text="A day, month or span, as March 2026.",
    )
    currency = models.CharField(max_length=3)
    language = models.CharField(
        "amounts and dates in",
        max_length=5,
        choices=Quote.Language.choices,
        default=Quote.Language.ENGLISH,
    )
    terms_days = models.PositiveSmallIntegerField(
        "to be paid within", default=30, validators=[MaxValueValidator(365)],
        help_text="Days from its date.",
    )  # fmt: skip
    how_to_pay = models.TextField(
        blank=True,
        help_text="One thing a line: what to give with the payment. The studio’s account "
        "prints above it.",
    )
    tax_note = models.CharField(
        max_length=300, blank=True,
        help_text="What your tax law wants said, such as why no tax is due.",
    )  # fmt: skip
    issued_on = models.DateField("its date", null=True, editable=False)
    due_on = models.DateField("to pay by", null=True, editable=False)
    gross = models.DecimalField(
        "what it came to, with tax", max_digits=16, decimal_places=4, null=True, editable=False,
        help_text="For finding what is still to pay among years of invoices. What counts to the "
        "coin are the figures it was issued with.",
    )  # fmt: skip
    history = HistoricalRecords()
    objects = InvoiceQuerySet.as_manager()

    class Meta:
        ordering = ["-year", "-number", "-created_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["year", "number"], name="invoice_number_once_a_year"),
            models.CheckConstraint(
                condition=Q(status="draft", number__isnull=True)
                | Q(status="issued", number__isnull=False, issued_on__isnull=False),
                name="invoice_issued_has_number",
            ),
            models.CheckConstraint(
                condition=Q(kind="invoice", credits__isnull=True)
                | Q(kind="credit", credits__isnull=False),
                name="invoice_credit_names_its_invoice",
            ),
            models.CheckConstraint(
                condition=Q(status="draft") | Q(archived_at__isnull=True),
                name="invoice_issued_stays",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} · {self.title}"

    @property
    def name(self) -> str:
        """As people say it: “Invoice 2026-031”, “Draft credit note”."""
        word = self.get_kind_display()
        return f"Draft {word.lower()}" if self.number is None else f"{word} {self.reference}"

    @property
    def reference(self) -> str:
        return "" if self.number is None else f"{self.year}-{self.number:03}"

    @property
    def is_draft(self) -> bool:
        return self.status == self.Status.DRAFT

    @property
    def is_credit(self) -> bool:
        return self.kind == self.Kind.CREDIT


class InvoicePart(models.Model):
    """A part of what was agreed that an invoice asks for: of a payment plan, or a change order.

    `claimed` holds while the invoice stands; one put aside, or credited whole, lets its parts go,
    so that they can be invoiced again.
    """

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="parts")
    payment = models.ForeignKey(
        QuotePayment, null=True, on_delete=models.PROTECT, related_name="invoice_parts"
    )
    change_order = models.ForeignKey(
        ChangeOrder, null=True, on_delete=models.PROTECT, related_name="invoice_parts"
    )
    claimed = models.BooleanField(default=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(payment__isnull=True, change_order__isnull=False)
                | Q(payment__isnull=False, change_order__isnull=True),
                name="invoice_part_is_one_thing",
            ),
            models.UniqueConstraint(
                fields=["payment"], condition=Q(claimed=True), name="payment_is_invoiced_once"
            ),
            models.UniqueConstraint(
                fields=["change_order"], condition=Q(claimed=True), name="change_is_invoiced_once"
            ),
        ]

    def __str__(self) -> str:
        return str(self.payment or self.change_order)


class InvoiceLine(models.Model):
    """A line of an invoice's own, beside the parts of what was agreed."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="lines")
    label = models.CharField("what", max_length=120)
    quantity = models.DecimalField(max_digits=11, decimal_places=3, default=1)
    price = models.DecimalField(max_digits=15, decimal_places=4)
    tax_rate = models.DecimalField("tax %", max_digits=5, decimal_places=2, default=0)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0, price__gte=0), name="invoice_line_positive"
            ),
            models.CheckConstraint(
                condition=Q(tax_rate__gte=0, tax_rate__lte=100), name="invoice_line_tax_is_percent"
            ),
        ]

    def __str__(self) -> str:
        return self.label


class IssuedInvoice(KeptPaper):
    """An invoice as it left the house; `figures` are a `clients.trade.invoice.InvoiceSum`."""

    invoice = models.OneToOneField(Invoice, on_delete=models.PROTECT, related_name="issued")

    def __str__(self) -> str:
        return f"{self.invoice.name}, as issued"


class Payment(Kept):
    """Money that came in for an invoice; a negative amount is money paid back."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    paid_on = models.DateField("day")
    amount = models.DecimalField(max_digits=16, decimal_places=4)
    note = models.CharField(max_length=200, blank=True)
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["paid_on", "id"]
        constraints = [models.CheckConstraint(condition=~Q(amount=0), name="payment_is_something")]

    def __str__(self) -> str:
        return f"{self.amount} on {self.paid_on}"

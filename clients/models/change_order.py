"""Change orders: what is added, lengthened or cut after a quote was accepted."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from clients.models.private_link import PrivateLink
from clients.models.quote import Quote, QuotePayment
from clients.models.sent_paper import KeptPaper, Offered, OfferedQuerySet, Signed
from shots.models import Difficulty, Setup, Shot


class ChangeOrder(Offered):
    """A priced change to an accepted quote. Once sent it never changes."""

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="change_orders")
    number = models.PositiveIntegerField(null=True, editable=False)
    title = models.CharField("what changes, in a few words", max_length=200)
    reason = models.CharField(
        "why, and at whose wish", max_length=400, blank=True, help_text="It prints on the paper."
    )
    valid_days = models.PositiveSmallIntegerField(
        "valid for",
        default=14,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
        help_text="Days from sending.",
    )
    milestone = models.CharField(
        "to be paid", max_length=120, default="on acceptance of the change",
        help_text="What makes its sum due, if it is paid on its own.",
    )  # fmt: skip
    paid_with = models.ForeignKey(
        QuotePayment, null=True, blank=True, on_delete=models.PROTECT, related_name="+",
        help_text="A part of the quote’s payment plan: the change then goes on its invoice.",
    )  # fmt: skip
    history = HistoricalRecords()
    objects = OfferedQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "number"], name="change_order_number_once"),
            models.CheckConstraint(
                condition=Q(status="draft") | Q(number__isnull=False, sent_at__isnull=False),
                name="change_order_sent_has_number",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} · {self.title}"

    @property
    def name(self) -> str:
        """As people say it: “Change order 2026-004-1”."""
        return "Draft change order" if self.number is None else f"Change order {self.reference}"

    @property
    def reference(self) -> str:
        return "" if self.number is None else f"{self.quote.reference}-{self.number}"

    @property
    def due(self) -> str:
        """In words, what makes its sum due."""
        return self.paid_with.milestone if self.paid_with else self.milestone


class ShotChange(models.Model):
    """One shot added, given another length, or cut. An added shot has no row on the floor yet."""

    class Kind(models.TextChoices):
        ADDED = "added", "added"
        LENGTH = "length", "another length"
        CUT = "cut", "cut"

    order = models.ForeignKey(ChangeOrder, on_delete=models.CASCADE, related_name="shot_changes")
    kind = models.CharField(max_length=6, choices=Kind.choices)
    shot = models.ForeignKey(
        Shot, null=True, on_delete=models.PROTECT, related_name="+", editable=False
    )
    code = models.CharField("shot", max_length=20)
    description = models.CharField("what happens", max_length=500, blank=True)
    screen_frames = models.PositiveIntegerField("length", default=0)
    exposure = models.PositiveSmallIntegerField(default=2)
    difficulty = models.ForeignKey(Difficulty, on_delete=models.PROTECT, related_name="+")
    setup = models.ForeignKey(
        Setup, null=True, blank=True, on_delete=models.SET_NULL, related_name="+",
        verbose_name="set-up",
    )  # fmt: skip
    new_setup = models.BooleanField("needs a set-up of its own", default=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "shot"], name="shot_changes_once_an_order"),
            models.CheckConstraint(
                condition=Q(kind="cut") | Q(screen_frames__gte=1, exposure__gte=1),
                name="shot_change_has_length",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.get_kind_display()}"


class ChangeLine(models.Model):
    """What else the change costs, or takes off (a negative amount), before tax."""

    order = models.ForeignKey(ChangeOrder, on_delete=models.CASCADE, related_name="lines")
    label = models.CharField("line", max_length=120)
    amount = models.DecimalField(max_digits=16, decimal_places=4)
    tax_rate = models.DecimalField("tax %", max_digits=5, decimal_places=2, default=0)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(tax_rate__gte=0, tax_rate__lte=100), name="change_line_tax_is_percent"
            )
        ]

    def __str__(self) -> str:
        return self.label


class SentChangeOrder(KeptPaper):
    """A change order as it left the house; `figures` are a `clients.trade.change.PricedChange`."""

    order = models.OneToOneField(ChangeOrder, on_delete=models.PROTECT, related_name="sent")

    def __str__(self) -> str:
        return f"{self.order.name}, as sent"


class ChangeOrderLink(PrivateLink):
    """A private address of a change order."""

    order = models.ForeignKey(ChangeOrder, on_delete=models.CASCADE, related_name="links")

    def __str__(self) -> str:
        return f"Link to {self.order.name}"


class ChangeAcceptance(Signed):
    """Who accepted exactly which change order, and when."""

    order = models.OneToOneField(ChangeOrder, on_delete=models.PROTECT, related_name="acceptance")
    by_link = models.ForeignKey(
        ChangeOrderLink, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    def __str__(self) -> str:
        return f"{self.order.name} accepted by {self.name}"

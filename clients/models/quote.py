"""Quotes: what a film costs and when it is done, as it was drafted, sent and answered."""

from decimal import Decimal
from fractions import Fraction

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from clients.models.client import Client
from clients.models.private_link import PrivateLink
from clients.models.sent_paper import KeptPaper, Offered, OfferedQuerySet, Signed
from clients.trade.quoting.lines import Basis, LineKind
from shots.models import Difficulty, Production


def _percent(name: str) -> Q:
    return Q(**{f"{name}__gte": 0, f"{name}__lte": 100})


class Quote(Offered):
    """One revision of a quote. Once sent it never changes: a change is the next revision."""

    class Confidence(models.IntegerChoices):
        EVEN = 50, "even chance: no contingency"
        LIKELY = 80, "four times in five"
        SURE = 95, "nineteen times in twenty"

    class Language(models.TextChoices):
        ENGLISH = "en_GB", "English"
        AMERICAN = "en_US", "English (United States)"
        GERMAN = "de_DE", "German"
        FRENCH = "fr_FR", "French"
        POLISH = "pl_PL", "Polish"
        SPANISH = "es_ES", "Spanish"
        ITALIAN = "it_IT", "Italian"
        JAPANESE = "ja_JP", "Japanese"

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="quotes")
    title = models.CharField(max_length=200)
    film = models.CharField("the film in a sentence", max_length=400, blank=True)
    included = models.TextField("what is included", blank=True, help_text="One thing a line.")
    year = models.PositiveSmallIntegerField(null=True, editable=False)
    number = models.PositiveIntegerField(null=True, editable=False)
    revision = models.PositiveSmallIntegerField(default=1, editable=False)
    replaces = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="replaced_by", editable=False
    )
    currency = models.CharField(max_length=3)
    language = models.CharField(
        "amounts and dates in", max_length=5, choices=Language.choices, default=Language.ENGLISH
    )
    confidence = models.PositiveSmallIntegerField(
        "promise days that hold", choices=Confidence.choices, default=Confidence.LIKELY
    )
    valid_days = models.PositiveSmallIntegerField(
        "valid for",
        default=30,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
        help_text="Days from sending.",
    )
    first_day = models.DateField("first shooting day", null=True, blank=True)
    revision_rounds = models.PositiveSmallIntegerField(
        default=2, validators=[MaxValueValidator(20)], help_text="Rounds of changes in the price."
    )
    tax_rate = models.DecimalField(
        "tax on new lines", max_digits=5, decimal_places=2, default=0,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text="Per cent. 0 where your tax law asks for none.",
    )  # fmt: skip
    tax_note = models.CharField(
        max_length=300, blank=True, help_text="What your tax law wants said under the price."
    )
    production = models.OneToOneField(
        Production, null=True, on_delete=models.PROTECT, related_name="quote", editable=False
    )
    history = HistoricalRecords()
    objects = OfferedQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["year", "number", "revision"], name="quote_number_once_a_year"
            ),
            models.CheckConstraint(
                condition=Q(status="draft") | Q(number__isnull=False, sent_at__isnull=False),
                name="quote_sent_has_number",
            ),
            models.CheckConstraint(condition=_percent("tax_rate"), name="quote_tax_is_percent"),
        ]

    def __str__(self) -> str:
        return f"{self.name} · {self.title}"

    @property
    def name(self) -> str:
        """As people say it: “Quote 2026-004, revision 2”."""
        if self.number is None:
            return "Draft quote"
        revision = f", revision {self.revision}" if self.revision > 1 else ""
        return f"Quote {self.reference}{revision}"

    @property
    def reference(self) -> str:
        return "" if self.number is None else f"{self.year}-{self.number:03}"


class DraftKept(models.Model):
    """What a version of a draft held before the next was saved over it: each entry of its page, by
    name, as it was typed."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="kept_versions")
    version = models.PositiveIntegerField()
    entries = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["quote", "version"], name="draft_version_kept_once")
        ]

    def __str__(self) -> str:
        return f"{self.quote}, version {self.version}"


class QuoteOption(models.Model):
    """One way of making the film."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="options")
    label = models.CharField(max_length=80, default="The film")
    rate_numerator = models.PositiveIntegerField(default=24)
    rate_denominator = models.PositiveIntegerField(default=1)
    runtime = models.DecimalField(
        "runtime asked for", max_digits=8, decimal_places=3, null=True, blank=True,
        validators=[MinValueValidator(0.001)], help_text="Seconds.",
    )  # fmt: skip
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(rate_numerator__gt=0, rate_denominator__gt=0),
                name="quote_option_rate_positive",
            )
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def rate(self) -> Fraction:
        return Fraction(self.rate_numerator, self.rate_denominator)


class QuoteSequence(models.Model):
    """A run of shots quoted as one."""

    option = models.ForeignKey(QuoteOption, on_delete=models.CASCADE, related_name="sequences")
    label = models.CharField("sequence", max_length=120)
    seconds = models.DecimalField(
        max_digits=8, decimal_places=3, validators=[MinValueValidator(0.001)]
    )
    exposure = models.PositiveSmallIntegerField(
        default=2, validators=[MinValueValidator(1), MaxValueValidator(24)]
    )
    difficulty = models.ForeignKey(Difficulty, on_delete=models.PROTECT, related_name="+")
    held_seconds = models.DecimalField(
        "held", max_digits=8, decimal_places=3, default=0, validators=[MinValueValidator(0)]
    )
    holds = models.PositiveSmallIntegerField(default=1)
    reused_seconds = models.DecimalField(
        "reused", max_digits=8, decimal_places=3, default=0, validators=[MinValueValidator(0)]
    )
    setups = models.PositiveSmallIntegerField(
        "set-ups", default=1, validators=[MaxValueValidator(500)]
    )
    characters = models.PositiveSmallIntegerField(default=1, validators=[MaxValueValidator(500)])
    handles = models.PositiveIntegerField(
        default=0, help_text="Extra frames photographed for the edit."
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(seconds__gt=0, exposure__gte=1), name="quote_sequence_has_length"
            ),
            models.CheckConstraint(
                condition=Q(held_seconds__gte=0, reused_seconds__gte=0),
                name="quote_sequence_holds_positive",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class PriceLine(models.Model):
    """What a price line says; what is left open the tool counts."""

    label = models.CharField("line", max_length=120)
    kind = models.CharField(max_length=20, choices=[(one.value, one.value) for one in LineKind])
    basis = models.CharField(
        "reckoned as", max_length=20, choices=[(one.value, one.value) for one in Basis]
    )
    rate = models.DecimalField(
        "price or percent", max_digits=16, decimal_places=4, null=True, blank=True
    )
    quantity = models.DecimalField(max_digits=15, decimal_places=3, null=True, blank=True)
    # Three guesses: the quantity is then the most likely of them.
    quantity_best = models.DecimalField(max_digits=15, decimal_places=3, null=True, blank=True)
    quantity_worst = models.DecimalField(max_digits=15, decimal_places=3, null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    pictures_per_hour = models.DecimalField(
        "cleaned an hour", max_digits=15, decimal_places=3, null=True, blank=True
    )
    of = models.CharField("percent of", max_length=20, blank=True)
    tax_rate = models.DecimalField("tax %", max_digits=5, decimal_places=2, default=0)
    hidden = models.BooleanField(default=False)
    optional = models.BooleanField(default=False)
    group = models.CharField("stands under", max_length=80, blank=True)
    territory = models.CharField(max_length=80, blank=True)
    media = models.CharField(max_length=80, blank=True)
    term = models.CharField(max_length=80, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        abstract = True
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(condition=_percent("tax_rate"), name="%(class)s_tax_is_percent"),
            models.CheckConstraint(
                condition=Q(rate__isnull=True) | Q(rate__gte=0), name="%(class)s_rate_positive"
            ),
            models.CheckConstraint(
                condition=Q(quantity_best__isnull=True, quantity_worst__isnull=True)
                | Q(quantity_best__lte=F("quantity"), quantity__lte=F("quantity_worst")),
                name="%(class)s_guesses_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class QuoteLine(PriceLine):
    """One line of a quote's price, for one option or for all."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    option = models.ForeignKey(
        QuoteOption, null=True, blank=True, on_delete=models.CASCADE, related_name="lines"
    )


class LineTemplate(PriceLine):
    """A line the studio uses again; a usual one stands on every new quote."""

    usual = models.BooleanField("on every new quote", default=False)


class DayRate(models.Model):
    """What a day of somebody's work costs, in the studio's currency. Crew never see it."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="day_rate"
    )
    rate = models.DecimalField(
        max_digits=16, decimal_places=4, validators=[MinValueValidator(Decimal("0.0001"))]
    )

    class Meta:
        ordering = ["person__name"]
        constraints = [
            models.CheckConstraint(condition=Q(rate__gt=0), name="day_rate_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.rate}"


class QuotePayment(models.Model):
    """One part of the payment plan; neither percent nor amount means the rest."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="payments")
    milestone = models.CharField("when", max_length=120)
    percent = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    amount = models.DecimalField(max_digits=16, decimal_places=4, null=True, blank=True)
    due_on = models.DateField("on the date", null=True, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(percent__isnull=True) | Q(amount__isnull=True),
                name="quote_payment_is_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(percent__isnull=True) | Q(percent__gt=0, percent__lte=100),
                name="quote_payment_is_percent",
            ),
            models.CheckConstraint(
                condition=Q(amount__isnull=True) | Q(amount__gt=0),
                name="quote_payment_amount_positive",
            ),
        ]

    def __str__(self) -> str:
        return self.milestone


class SentQuote(KeptPaper):
    """A quote as it left the house; `figures` hold every option as it was priced."""

    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="sent")
    offers = models.JSONField(help_text="Label, total, days and finish of each option, as printed.")

    def __str__(self) -> str:
        return f"{self.quote.name}, as sent"


class ClientLink(PrivateLink):
    """A private address where the client reads and answers a quote."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="links")

    def __str__(self) -> str:
        return f"Link to {self.quote.name}"


class Acceptance(Signed):
    """Who accepted which option of exactly which revision, and when."""

    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="acceptance")
    option = models.ForeignKey(QuoteOption, on_delete=models.PROTECT, related_name="+")
    by_link = models.ForeignKey(ClientLink, null=True, on_delete=models.SET_NULL, related_name="+")

    def __str__(self) -> str:
        return f"{self.quote.name} accepted by {self.name}"

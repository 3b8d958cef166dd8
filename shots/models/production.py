"""A production, and the lists of the floor that all productions share."""

from fractions import Fraction

from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from shots.trade.shot_codes import CODE_PATTERN, CODE_RULE
from studio.models import Kept, KeptQuerySet

code_characters = RegexValidator(
    CODE_PATTERN,
    f"Use {CODE_RULE}: it names files.",
)


class Difficulty(models.Model):
    """How slow a shot is to animate, and the pace the owner assumes until it is measured."""

    name = models.CharField(max_length=40, unique=True)
    pictures_per_hour = models.DecimalField(
        "assumed pace",
        max_digits=6,
        decimal_places=2,
        validators=[MinValueValidator(0.01)],
        help_text="Kept pictures an hour, until your own sessions say better.",
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        verbose_name_plural = "difficulties"
        constraints = [
            models.CheckConstraint(
                condition=Q(pictures_per_hour__gt=0), name="difficulty_pace_positive"
            )
        ]

    def __str__(self) -> str:
        return self.name


class PreShootCheck(models.Model):
    """One line of the list to tick before the first picture of a session."""

    text = models.CharField(max_length=200)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return self.text


class ProductionQuerySet(KeptQuerySet):
    """Productions, in the trade's words."""

    def running(self) -> "ProductionQuerySet":
        """Being shot now."""
        return self.current().filter(stage=Production.Stage.RUNNING)


class Production(Kept):
    """One commissioned film. It does not know its client: the desk holds that link."""

    class Stage(models.TextChoices):
        QUOTED = "quoted", "at quote"
        RUNNING = "running", "running"
        DELIVERED = "delivered", "delivered"

    code = models.CharField(
        max_length=20,
        validators=[code_characters],
        help_text="Short, as FELT: names files and sheets.",
    )
    title = models.CharField(max_length=200)
    stage = models.CharField(max_length=10, choices=Stage.choices, default=Stage.RUNNING)
    rate_numerator = models.PositiveIntegerField(default=24)
    rate_denominator = models.PositiveIntegerField(default=1)
    exposure = models.PositiveSmallIntegerField(
        "usual exposure",
        default=2,
        validators=[MinValueValidator(1)],
        help_text="Frames each picture is held for: 1 for ones, 2 for twos.",
    )
    contracted_frames = models.PositiveIntegerField(
        "contracted runtime", null=True, blank=True, help_text="As 30 s, 720 f or 4s06f."
    )
    start = models.DateField("first shooting day", null=True, blank=True)
    deadline = models.DateField(
        "shooting deadline", null=True, blank=True,
        help_text="The last day shooting may end.",
    )  # fmt: skip
    place = models.TextField("place of shooting", blank=True)
    directions = models.TextField("how to get there", blank=True)
    emergency_care = models.TextField(
        "nearest emergency care",
        blank=True,
        help_text="Name, address and phone, for the call sheet.",
    )
    notes = models.TextField(blank=True)
    keep_originals = models.BooleanField(
        "keep the original pictures",
        default=False,
        help_text="Thumbnails and measures are kept in any case.",
    )
    history = HistoricalRecords()
    objects = ProductionQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-id"]
        constraints = [
            models.UniqueConstraint(Lower("code"), name="production_code_unique"),
            models.CheckConstraint(
                condition=Q(rate_numerator__gt=0, rate_denominator__gt=0),
                name="production_rate_positive",
            ),
            models.CheckConstraint(
                condition=Q(exposure__gte=1), name="production_exposure_positive"
            ),
            models.CheckConstraint(
                condition=Q(start__isnull=True)
                | Q(deadline__isnull=True)
                | Q(deadline__gte=F("start")),
                name="production_deadline_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} · {self.title}"

    @property
    def rate(self) -> Fraction:
        """Frames per second, exact."""
        return Fraction(self.rate_numerator, self.rate_denominator)

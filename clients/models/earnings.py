"""What a production took beside its sessions: hours off the set, and what was paid to others."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from shots.models import Production


class FilmAccount(models.Model):
    """A production's account. What is left empty counts as quoted."""

    production = models.OneToOneField(
        Production, on_delete=models.CASCADE, primary_key=True, related_name="account"
    )
    hours_off_set = models.DecimalField(
        "hours off the set",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(99_999)],
        help_text="Preparation, builds, clean-up, edit. Empty: as quoted.",
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(hours_off_set__isnull=True) | Q(hours_off_set__gte=0),
                name="film_account_hours_positive",
            )
        ]

    def __str__(self) -> str:
        return f"Account of {self.production.code}"


class ActualCost(models.Model):
    """What a line of the quote, or something nobody quoted, really cost, before tax."""

    account = models.ForeignKey(FilmAccount, on_delete=models.CASCADE, related_name="costs")
    label = models.CharField(max_length=120)
    amount = models.DecimalField(
        max_digits=16, decimal_places=4, validators=[MinValueValidator(Decimal(0))]
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint(fields=["account", "label"], name="actual_cost_once_a_label"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="actual_cost_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.amount}"

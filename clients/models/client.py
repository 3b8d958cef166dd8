"""Who commissions films, and which."""

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from shots.models import Production
from studio.models import Kept, KeptQuerySet


class Client(Kept):
    """Somebody who pays for a film."""

    name = models.CharField(max_length=200)
    address = models.TextField(blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    payment_days = models.PositiveSmallIntegerField(
        "payment terms",
        default=30,
        validators=[MaxValueValidator(365)],
        help_text="Days from invoice to payment.",
    )
    currency = models.CharField(max_length=3, help_text="Three letters, as EUR.")
    notes = models.TextField(blank=True)
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"), condition=models.Q(archived_at=None), name="client_name_unique"
            )
        ]

    def __str__(self) -> str:
        return self.name


class Contact(Kept):
    """A person at a client's."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=120)
    job = models.CharField(max_length=80, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name


class Commission(models.Model):
    """Which client a production is made for. Kept at the desk, so the floor cannot leak it."""

    production = models.OneToOneField(
        Production, on_delete=models.CASCADE, primary_key=True, related_name="commission"
    )
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="commissions")

    def __str__(self) -> str:
        return f"{self.production.code} for {self.client}"

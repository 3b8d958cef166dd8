"""A set-up and its lock card."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from shots.models.production import Production, code_characters
from studio.models import Kept, KeptQuerySet


class Setup(Kept):
    """One arrangement of camera, set and lamps, with everything that must not change in it."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="setups")
    code = models.CharField(max_length=20, validators=[code_characters])
    name = models.CharField("what it is", max_length=200, blank=True)
    position = models.PositiveIntegerField(default=0)
    # The lock card. Empty means nobody has written it down yet.
    camera = models.CharField(max_length=120, blank=True)
    focal_length_mm = models.DecimalField(
        "focal length (mm)", max_digits=6, decimal_places=1, null=True, blank=True,
        validators=[MinValueValidator(0.1)],
    )  # fmt: skip
    aperture = models.DecimalField(
        "aperture (f/)", max_digits=4, decimal_places=1, null=True, blank=True,
        validators=[MinValueValidator(0.5)],
    )  # fmt: skip
    shutter = models.CharField(
        "shutter (s)", max_length=12, blank=True, help_text="As 1/8 or 0.5, in seconds."
    )
    iso = models.PositiveIntegerField(
        "ISO",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(4_000_000)],
    )
    white_balance_k = models.PositiveIntegerField(
        "white balance (K)", null=True, blank=True,
        validators=[MinValueValidator(1000), MaxValueValidator(40000)],
    )  # fmt: skip
    focus_distance = models.CharField(
        max_length=40, blank=True, help_text="As 62 cm from the film plane, or a mark on the ring."
    )
    notes = models.TextField(blank=True)
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint(
                "production", Lower("code"), condition=Q(archived_at=None), name="setup_code_unique"
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}".strip()

    @property
    def lamp_watts(self) -> int:
        """All lamps of the set-up together, in watts."""
        return sum(lamp.watts for lamp in self.lamps.all())


class Lamp(models.Model):
    """One lamp of a set-up."""

    setup = models.ForeignKey(Setup, on_delete=models.CASCADE, related_name="lamps")
    name = models.CharField(max_length=80)
    watts = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(20000)])
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.CheckConstraint(condition=Q(watts__gt=0), name="lamp_watts_positive")]

    def __str__(self) -> str:
        return f"{self.name} {self.watts} W"

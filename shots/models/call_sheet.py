"""A day's plan on paper."""

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords

from shots.models.production import Production
from shots.models.shot import Shot
from studio.models import Kept, KeptQuerySet


class CallSheet(Kept):
    """Who is called when, and what is shot, on one day of one production."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="call_sheets")
    day = models.DateField()
    call = models.TimeField(help_text="When work starts.")
    wrap = models.TimeField(help_text="When work ends. Earlier than the call means after midnight.")
    notes = models.TextField(blank=True)
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["-day"]
        constraints = [
            models.UniqueConstraint(
                fields=["production", "day"],
                condition=models.Q(archived_at=None),
                name="one_call_sheet_a_day",
            )
        ]

    def __str__(self) -> str:
        return f"Call sheet {self.production.code} {self.day}"


class CallSheetShot(models.Model):
    """A shot on the call sheet, in shooting order, with the pictures to take."""

    call_sheet = models.ForeignKey(CallSheet, on_delete=models.CASCADE, related_name="shots")
    shot = models.ForeignKey(Shot, on_delete=models.CASCADE, related_name="+")
    pictures = models.PositiveIntegerField("pictures to take")
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint(fields=["call_sheet", "shot"], name="shot_once_a_call_sheet")
        ]

    def __str__(self) -> str:
        return f"{self.shot}: {self.pictures}"


class CallSheetPerson(models.Model):
    """Somebody called, and when."""

    call_sheet = models.ForeignKey(CallSheet, on_delete=models.CASCADE, related_name="people")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    call = models.TimeField()

    class Meta:
        ordering = ["call", "person__name"]
        constraints = [
            models.UniqueConstraint(
                fields=["call_sheet", "person"], name="person_once_a_call_sheet"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.call:%H:%M}"

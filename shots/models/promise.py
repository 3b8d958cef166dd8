"""What was promised each evening, kept to be held against what happened."""

from django.db import models

from shots.models.production import Production


class Promise(models.Model):
    """The forecast of one production on one evening, as it was said."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="promises")
    evening = models.DateField()
    even = models.DateField("most likely end", null=True)
    likely = models.DateField("end four times in five", null=True)
    days = models.JSONField(help_text="Working days left at chances of 1 % to 99 %.")
    days_uncorrected = models.JSONField(
        null=True, help_text="The same before the record corrected them; empty where it did not."
    )
    deadline = models.DateField(null=True)
    chance = models.FloatField("chance of the deadline", null=True)
    budget = models.PositiveIntegerField("pictures budgeted")
    kept = models.PositiveIntegerField("pictures kept")

    class Meta:
        ordering = ["evening"]
        constraints = [
            models.UniqueConstraint(
                fields=["production", "evening"], name="promise_once_an_evening"
            )
        ]

    def __str__(self) -> str:
        return f"{self.production_id} on {self.evening}"

"""What was quoted for a production, in days and pace: the floor's side of a quote, no money."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from shots.models.production import Difficulty, Production


class QuotedDays(models.Model):
    """Days of shooting quoted for a production, as they stood when the quote was accepted."""

    production = models.OneToOneField(
        Production, on_delete=models.CASCADE, primary_key=True, related_name="quoted_days"
    )
    even = models.PositiveSmallIntegerField("days at even chance")
    promised = models.PositiveSmallIntegerField("days promised")
    chance = models.PositiveSmallIntegerField(help_text="Of the days promised, in per cent.")

    class Meta:
        verbose_name_plural = "quoted days"
        constraints = [
            models.CheckConstraint(
                condition=Q(promised__gte=F("even")), name="quoted_days_promised_hold_even"
            ),
            models.CheckConstraint(
                condition=Q(chance__gte=1, chance__lte=99), name="quoted_days_chance_is_percent"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.production.code}: {self.even} days quoted"


class QuotedPace(models.Model):
    """Pictures of one difficulty quoted for a production, and the pace they were quoted at."""

    production = models.ForeignKey(
        Production, on_delete=models.CASCADE, related_name="quoted_paces"
    )
    difficulty = models.ForeignKey(Difficulty, on_delete=models.PROTECT, related_name="+")
    pictures = models.PositiveIntegerField()
    pictures_per_hour = models.DecimalField(
        max_digits=10, decimal_places=4, validators=[MinValueValidator(0.0001)]
    )

    class Meta:
        ordering = ["difficulty__position", "difficulty_id"]
        constraints = [
            models.UniqueConstraint(
                fields=["production", "difficulty"], name="quoted_pace_once_a_difficulty"
            ),
            models.CheckConstraint(
                condition=Q(pictures_per_hour__gt=0), name="quoted_pace_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.production.code}, {self.difficulty}: {self.pictures_per_hour} an hour"

"""A preview film of a shot, or of the whole production, as its pictures stood when it was made."""

import secrets

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shots.models.production import Production
from shots.models.shot import Shot
from studio.models import LongWork


def preview_path(preview: "Preview", name: str) -> str:
    """A random name: what it shows stands in its row."""
    return f"previews/{secrets.token_hex(16)}.mp4"


class Preview(models.Model):
    """The one preview of a shot, or of a production where ``shot`` is empty. Made anew, it
    takes the place of the one before."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="previews")
    shot = models.ForeignKey(
        Shot, on_delete=models.CASCADE, null=True, blank=True, related_name="previews"
    )
    work = models.ForeignKey(
        LongWork, on_delete=models.SET_NULL, null=True, blank=True, related_name="+",
        help_text="Its latest making.",
    )  # fmt: skip
    file = models.FileField(upload_to=preview_path, blank=True)
    frames = models.PositiveIntegerField(default=0)
    pictures = models.PositiveIntegerField(default=0, help_text="How many it shows.")
    small = models.PositiveIntegerField(
        default=0, help_text="Of these, how many only from their thumbnail."
    )
    flashes = models.BooleanField(
        default=False, help_text="More than three times in a second, by WCAG 2.2."
    )
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["production", "shot"],
                name="preview_once_a_shot",
            ),
            models.UniqueConstraint(
                fields=["production"], condition=Q(shot=None), name="preview_once_a_production"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.production.code} {self.shot.code}" if self.shot else self.production.code

    def get_absolute_url(self) -> str:
        """Where it is seen."""
        if self.shot_id is None:
            return reverse("shots:film_preview", args=[self.production.code])
        return reverse("shots:shot_preview", args=[self.production.code, self.shot_id])

    @property
    def file_name(self) -> str:
        """What it is called when saved."""
        return f"{str(self).replace(' ', '_')}_preview.mp4"

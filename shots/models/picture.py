"""One photograph of a shot: what was measured of it, what was found, and what became of it."""

import secrets

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from shots.models.session import Session
from shots.models.shot import Shot
from studio.models import changed_by_field


def thumbnail_path(picture: "Picture", name: str) -> str:
    """A random name: nothing of the upload reaches a path."""
    return f"thumbnails/{secrets.token_hex(1)}/{secrets.token_hex(16)}.jpg"


def original_path(picture: "Picture", name: str) -> str:
    """A random name, as for the thumbnail; what it is stands in the file itself."""
    return f"originals/{secrets.token_hex(1)}/{secrets.token_hex(16)}"


ON_A_SHEET = (
    "name",
    "day",
    "width",
    "height",
    "brightness",
    "flags",
    "found",
    "is_flagged",
    "judged_at",
    "verdict",
    "frames",
    "again_from",
    "again_to",
    "again_times",
    "thumbnail",
    "shot",
)


class PictureQuerySet(models.QuerySet):
    """Pictures, in the trade's words."""

    def kept(self) -> "PictureQuerySet":
        """In the film as it stands."""
        return self.exclude(verdict=Picture.Verdict.DISCARD)

    def discarded(self) -> "PictureQuerySet":
        return self.filter(verdict=Picture.Verdict.DISCARD)

    def flagged(self) -> "PictureQuerySet":
        """A fault was found and nobody has decided yet."""
        return self.filter(is_flagged=True, verdict=Picture.Verdict.LEAVE)

    def unlogged(self) -> "PictureQuerySet":
        """In no session yet."""
        return self.filter(session__isnull=True)

    def slim(self) -> "PictureQuerySet":
        """Without the measures, which only judging needs."""
        return self.defer("measure")

    def for_sheet(self) -> "PictureQuerySet":
        """Only what a contact sheet shows: thousands are read at once."""
        return self.only(*ON_A_SHEET)


class Picture(models.Model):
    """One photograph of a shot. The same file is never in a shot twice."""

    class Verdict(models.TextChoices):
        LEAVE = "leave", "leave it"
        KEEP = "keep", "keep"
        DISCARD = "discard", "discard"

    shot = models.ForeignKey(Shot, on_delete=models.CASCADE, related_name="pictures")
    session = models.ForeignKey(
        Session, on_delete=models.SET_NULL, null=True, blank=True, related_name="pictures"
    )
    sha256 = models.CharField(max_length=64)
    name = models.CharField("file name", max_length=200, help_text="Shown, never used as a path.")
    place = models.CharField(
        max_length=250, help_text="Sorts the pictures of a shot: day, then file number."
    )
    day = models.DateField(help_text="By the camera's clock, else the day it came in.")
    taken_at = models.DateTimeField("taken", null=True, blank=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    settings = models.JSONField(default=dict, help_text="What the camera wrote of its settings.")
    brightness = models.FloatField(help_text="Mean relative luminance, 0 to 1.")
    measure = models.BinaryField(help_text="What the check measured, packed.")
    flags = models.JSONField(default=list)
    found = models.JSONField(default=dict, help_text="Light, shift and focus against the first.")
    not_measurable = models.JSONField(default=list)
    is_flagged = models.BooleanField("has a fault", default=False)
    judged_at = models.DateTimeField(
        null=True, blank=True, help_text="When the whole shot was last judged with it."
    )
    verdict = models.CharField(max_length=7, choices=Verdict.choices, default=Verdict.LEAVE)
    frames = models.PositiveSmallIntegerField(
        "held for",
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="Frames it stays on screen. Empty: the shot's exposure.",
    )
    again_from = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    again_to = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    again_times = models.PositiveSmallIntegerField(
        default=0, help_text="How often `again_from` to `again_to` are shown again after it."
    )
    thumbnail = models.FileField(upload_to=thumbnail_path)
    original = models.FileField(upload_to=original_path, blank=True)
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    added_by = changed_by_field()
    objects = PictureQuerySet.as_manager()

    class Meta:
        ordering = ["place", "id"]
        indexes = [
            models.Index(fields=["shot", "place"], name="pictures_in_order"),
            models.Index(fields=["sha256"], name="picture_by_hash"),
            # Few of a million: what nobody has decided on is asked for on every Today.
            models.Index(
                fields=["shot"],
                condition=Q(is_flagged=True, verdict="leave"),
                name="picture_to_decide",
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["shot", "sha256"], name="picture_once_a_shot"),
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="picture_has_a_size"
            ),
            models.CheckConstraint(
                condition=Q(frames__isnull=True) | Q(frames__gte=1), name="picture_held_a_while"
            ),
            models.CheckConstraint(
                condition=Q(verdict__in=["leave", "keep", "discard"]), name="picture_verdict_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def needs_a_look(self) -> bool:
        return self.is_flagged and self.verdict == self.Verdict.LEAVE

    @property
    def is_discarded(self) -> bool:
        return self.verdict == self.Verdict.DISCARD

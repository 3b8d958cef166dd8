"""Files promised to the client, and the checks they must pass."""

from fractions import Fraction

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from clients.models.specification import StudioSpecification
from shots.models import Production
from studio.models import Kept, KeptQuerySet, changed_by_field


class Deliverable(Kept):
    """One file promised, with its technical specification. Empty means nobody asked for it.

    What stands here fills in what the chosen specification says nothing of.
    """

    production = models.ForeignKey(
        Production, on_delete=models.CASCADE, related_name="deliverables"
    )
    name = models.CharField(max_length=120, help_text="As HD web master.")
    purpose = models.CharField(
        max_length=200, blank=True, help_text="What the client does with it."
    )
    specification = models.ForeignKey(
        StudioSpecification,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="deliverables",
        help_text="What the file is checked against.",
    )
    width = models.PositiveIntegerField(
        "picture width", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    height = models.PositiveIntegerField(
        "picture height", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    rate_numerator = models.PositiveIntegerField(null=True, blank=True)
    rate_denominator = models.PositiveIntegerField(null=True, blank=True)
    frames = models.PositiveIntegerField("length", null=True, blank=True)
    container = models.CharField(max_length=40, blank=True, help_text="As MP4 or MOV.")
    codec = models.CharField(max_length=80, blank=True, help_text="As H.264 High, 4:2:0, 8 bit.")
    colour = models.CharField(max_length=120, blank=True, help_text="As BT.709, video range.")
    sound = models.CharField(max_length=120, blank=True, help_text="As AAC stereo 48 kHz, or none.")
    loudness = models.CharField(
        max_length=80, blank=True, help_text="As −23 LUFS, −1 dBTP at most."
    )
    captions = models.CharField(max_length=120, blank=True, help_text="As WebVTT, Polish.")
    file_name = models.CharField(
        "file name",
        max_length=200,
        blank=True,
        help_text="A pattern, as {production}_{deliverable}_v{version}.mp4. It is filled in at "
        "each delivery; {title} is the film’s.",
    )
    notes = models.TextField(blank=True)
    position = models.PositiveSmallIntegerField(default=0)
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(rate_numerator__isnull=True, rate_denominator__isnull=True)
                | Q(rate_numerator__gt=0, rate_denominator__gt=0),
                name="deliverable_rate_positive",
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def rate(self) -> Fraction | None:
        """Frames per second, exact; None where nobody asked for one."""
        if self.rate_numerator is None:
            return None
        return Fraction(self.rate_numerator, self.rate_denominator)

    @property
    def length_rate(self) -> Fraction:
        """The rate its length counts at: the one asked for, else the production's."""
        asked = self.specification.wanted.frame_rate if self.specification else None
        return asked or self.rate or self.production.rate

    @property
    def name_fields(self) -> dict[str, str]:
        """What a file name's pattern is filled with, the version apart."""
        production = self.production
        return {
            "production": production.code, "title": production.title, "deliverable": self.name,
        }  # fmt: skip


class DeliverableCheck(Kept):
    """One thing to look at before the file leaves, and who looked."""

    deliverable = models.ForeignKey(Deliverable, on_delete=models.CASCADE, related_name="checks")
    text = models.CharField(max_length=200)
    position = models.PositiveSmallIntegerField(default=0)
    ticked_at = models.DateTimeField(null=True, blank=True)
    ticked_by = changed_by_field()
    filled_from = models.ForeignKey(
        "FileCheck", null=True, on_delete=models.SET_NULL, related_name="+", editable=False,
        help_text="The check of a file that fills this box; nobody ticks it by hand then.",
    )  # fmt: skip
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return self.text

    @property
    def is_ticked(self) -> bool:
        return self.ticked_at is not None

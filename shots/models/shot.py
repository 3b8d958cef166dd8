"""A shot and its frame budget."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from shots.models.production import Difficulty, Production, code_characters
from shots.models.setup import Setup
from shots.models.standing import Standing
from studio.models import Kept, KeptQuerySet


class ShotQuerySet(KeptQuerySet):
    """Shots, in the trade's words."""

    def in_film(self) -> "ShotQuerySet":
        """In the film as it stands: neither archived nor cut."""
        return self.current().exclude(status=Shot.Status.CUT)

    def left_to_shoot(self) -> "ShotQuerySet":
        """Shots that still cost shooting days."""
        return self.current().filter(status__in=Shot.LEFT)

    def with_counts(self) -> "ShotQuerySet":
        """Adds `photographed` (kept in all current sessions) and `discarded`, in one query."""
        from shots.models.session import SessionShot

        counted = SessionShot.objects.filter(
            shot=models.OuterRef("pk"), session__archived_at__isnull=True
        ).values("shot")
        return self.annotate(
            photographed=models.functions.Coalesce(
                models.Subquery(counted.values(total=models.Sum("kept"))), 0
            ),
            discarded=models.functions.Coalesce(
                models.Subquery(counted.values(total=models.Sum("discarded"))), 0
            ),
        )


class Shot(Standing, Kept):
    """One shot of the film. Lengths are whole frames at the production's rate."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="shots")
    setup = models.ForeignKey(
        Setup, on_delete=models.SET_NULL, null=True, blank=True, related_name="shots",
        verbose_name="set-up",
    )  # fmt: skip
    code = models.CharField(max_length=20, validators=[code_characters])
    description = models.CharField("what happens", max_length=500, blank=True)
    position = models.PositiveIntegerField(default=0)
    difficulty = models.ForeignKey(Difficulty, on_delete=models.PROTECT, related_name="+")
    screen_frames = models.PositiveIntegerField("length", validators=[MinValueValidator(1)])
    exposure = models.PositiveSmallIntegerField(default=2, validators=[MinValueValidator(1)])
    held_frames = models.PositiveIntegerField("held frames", default=0)
    holds = models.PositiveSmallIntegerField(default=0)
    reused_frames = models.PositiveIntegerField("reused frames", default=0)
    handle_frames = models.PositiveIntegerField("handle frames", default=0)
    camera_moves = models.BooleanField(
        "the camera is meant to move", default=False, help_text="Bumps are then not looked for."
    )
    light_changes = models.BooleanField(
        "the light is meant to change", default=False, help_text="Flicker is then not looked for."
    )
    status = models.CharField(
        max_length=10, choices=Standing.Status.choices, default=Standing.Status.TO_SHOOT
    )
    retaken_pictures = models.PositiveIntegerField(
        default=0, help_text="Pictures kept once that must be taken again."
    )
    agreed_pictures = models.PositiveIntegerField(
        null=True, blank=True, editable=False, help_text="The budget agreed with the client."
    )
    notes = models.TextField(blank=True)
    storyboard = models.ImageField("storyboard picture", upload_to="storyboards/", blank=True)
    history = HistoricalRecords()
    objects = ShotQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint(
                "production", Lower("code"), condition=Q(archived_at=None), name="shot_code_unique"
            ),
            models.CheckConstraint(condition=Q(screen_frames__gte=1), name="shot_has_length"),
            models.CheckConstraint(condition=Q(exposure__gte=1), name="shot_exposure_positive"),
            models.CheckConstraint(
                condition=Q(
                    screen_frames__gte=F("held_frames") + F("reused_frames") - F("handle_frames")
                ),
                name="shot_holds_fit",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def exposure_words(self) -> str:
        """`ones`, `twos`, `threes`, `fours`, or the number of frames."""
        words = {1: "ones", 2: "twos", 3: "threes", 4: "fours"}
        return words.get(self.exposure, str(self.exposure))

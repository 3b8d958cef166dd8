"""A block of shooting: what was kept, what was shot again, what went wrong."""

from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from shots.models.production import Production
from shots.models.setup import Setup
from shots.models.shot import Shot
from shots.trade.session_times import worked
from studio.models import Kept, KeptQuerySet, changed_by_field


class SessionQuerySet(KeptQuerySet):
    """Sessions, in the trade's words."""

    def open(self) -> "SessionQuerySet":
        """Started and not yet finished."""
        return self.current().filter(ended_at__isnull=True)

    def finished(self) -> "SessionQuerySet":
        return self.current().filter(ended_at__isnull=False)


class Session(Kept):
    """One block of shooting. It belongs to the day it started on, even past midnight."""

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="sessions")
    setup = models.ForeignKey(
        Setup, on_delete=models.SET_NULL, null=True, blank=True, related_name="sessions",
        verbose_name="set-up",
    )  # fmt: skip
    day = models.DateField("shooting day")
    started_at = models.DateTimeField("started")
    ended_at = models.DateTimeField("ended", null=True, blank=True)
    paused_at = models.DateTimeField(null=True, blank=True, editable=False)
    setup_minutes = models.PositiveIntegerField("set-up time", default=0)
    break_minutes = models.PositiveIntegerField("breaks", default=0)
    notes = models.TextField(blank=True)
    people = models.ManyToManyField(settings.AUTH_USER_MODEL, blank=True, related_name="sessions")
    history = HistoricalRecords(m2m_fields=[people])
    objects = SessionQuerySet.as_manager()

    class Meta:
        ordering = ["-started_at", "-id"]
        indexes = [models.Index(fields=["production", "day"], name="session_by_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gt=F("started_at")),
                name="session_ends_after_start",
            ),
            # One camera, one open session a production.
            models.UniqueConstraint(
                fields=["production"],
                condition=Q(ended_at=None, archived_at=None),
                name="one_open_session",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.production.code} {self.day}"

    @property
    def duration(self) -> timedelta | None:
        """From start to end, breaks left out; None while it runs."""
        if self.ended_at is None:
            return None
        return worked(self.started_at, self.ended_at, self.break_minutes)

    @property
    def hours(self) -> float:
        """Working hours, set-up time included, breaks left out."""
        return self.duration.total_seconds() / 3600 if self.ended_at else 0.0


class SessionShot(models.Model):
    """What one session did for one shot."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="output")
    shot = models.ForeignKey(Shot, on_delete=models.CASCADE, related_name="output")
    kept = models.PositiveIntegerField(default=0)
    discarded = models.PositiveIntegerField(default=0)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["session", "shot"], name="shot_once_a_session")
        ]

    def __str__(self) -> str:
        return f"{self.shot}: {self.kept} kept"


class Incident(models.Model):
    """Something that went wrong in a session, and at which picture."""

    class Kind(models.TextChoices):
        BUMP = "bump", "bump"
        FLICKER = "flicker", "flicker"
        LAMP = "lamp", "lamp changed"
        PUPPET = "puppet", "puppet broke"
        OTHER = "other", "something else"

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="incidents")
    shot = models.ForeignKey(Shot, on_delete=models.SET_NULL, null=True, blank=True)
    kind = models.CharField("what happened", max_length=10, choices=Kind.choices)
    picture = models.PositiveIntegerField("at picture", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = changed_by_field()

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.get_kind_display()


class SessionCheck(models.Model):
    """A line of the pre-shoot list, ticked for one session. It keeps the words as they were."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="checks")
    text = models.CharField(max_length=200)
    ticked_at = models.DateTimeField(null=True, blank=True)
    ticked_by = changed_by_field()

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.text

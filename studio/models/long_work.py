"""Work that takes longer than a page may."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from studio.models.house import Person


class LongWorkQuerySet(models.QuerySet):
    """Pieces of long work by how they stand."""

    def not_over(self) -> "LongWorkQuerySet":
        return self.filter(state__in=[LongWork.State.WAITING, LongWork.State.RUNNING])

    def visible_to(self, person: Person) -> "LongWorkQuerySet":
        """The owner sees all of it, everybody else what they asked for."""
        return self if person.is_owner else self.filter(asked_by=person)


class LongWork(models.Model):
    """Something that takes longer than a page may: asked for, watched and stopped from one."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting for its turn"
        RUNNING = "running", "running"
        DONE = "done", "done"
        STOPPED = "stopped", "stopped"
        FAILED = "failed", "failed"

    title = models.CharField(max_length=200)
    kind = models.CharField(max_length=200, help_text="The function that does it, by name.")
    arguments = models.JSONField(default=dict)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    state = models.CharField(max_length=7, choices=State.choices, default=State.WAITING)
    done = models.PositiveBigIntegerField(default=0)
    total = models.PositiveBigIntegerField(default=0, help_text="0 where it cannot be known yet.")
    note = models.CharField(max_length=300, blank=True, help_text="What it is at, or how it ended.")
    result_url = models.CharField(max_length=300, blank=True)
    stop_wanted = models.BooleanField(default=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField(default=timezone.now)
    alive_at = models.DateTimeField(null=True, blank=True, help_text="Last sign of life.")
    ended_at = models.DateTimeField(null=True, blank=True)
    objects = LongWorkQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]
        verbose_name_plural = "long work"
        indexes = [models.Index(fields=["state", "alive_at"])]

    def __str__(self) -> str:
        return self.title

    @property
    def is_over(self) -> bool:
        return self.state not in (self.State.WAITING, self.State.RUNNING)

    @property
    def percent(self) -> int | None:
        """Whole per cent done; None while the total is not known."""
        return min(100, 100 * self.done // self.total) if self.total else None

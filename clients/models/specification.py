"""Specifications the studio keeps: what clients want of a file."""

from django.db import models
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from clients.trade.specification import Specification, from_json
from studio.models import Kept, KeptQuerySet


class StudioSpecification(Kept):
    """A specification under the name the studio gave it."""

    title = models.CharField("name", max_length=120, help_text="As HD web master 16:9.")
    items = models.JSONField(default=dict, help_text="As in SPEC.json, without a title.")
    history = HistoricalRecords()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["title", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("title"),
                condition=models.Q(archived_at=None),
                name="studio_specification_title_unique",
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def wanted(self) -> Specification:
        """What it asks for."""
        return from_json(self.items)

"""Files checked, what was accepted in spite of a check, and what was delivered to the client."""

from datetime import timedelta

from django.db import models
from django.db.models import Q

from clients.models.deliverable import Deliverable
from clients.models.private_link import PrivateLink
from clients.trade.specification import Specification, from_json
from shots.models import Production
from studio.models import Kept, KeptQuerySet, LongWork, changed_by_field


class FileCheck(models.Model):
    """One file laid against a deliverable's specification, and what was found.

    `fits` is None until the check is over, and stays so where the file was refused or the check
    was stopped.
    """

    deliverable = models.ForeignKey(
        Deliverable, on_delete=models.CASCADE, related_name="file_checks"
    )
    path = models.CharField(max_length=1000, help_text="Where the file lies on this machine.")
    name = models.CharField(max_length=255, help_text="As its owner calls it.")
    uploaded = models.BooleanField(default=False)
    captions_path = models.CharField(max_length=1000, blank=True)
    wanted = models.JSONField(default=dict, help_text="The specification as it was then.")
    work = models.OneToOneField(
        LongWork, null=True, on_delete=models.SET_NULL, related_name="file_check"
    )
    asked_by = changed_by_field()
    asked_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size = models.PositiveBigIntegerField(null=True, help_text="Bytes.")
    results = models.JSONField(default=list, help_text="Each: check, wanted, found, fits, advice.")
    fits = models.BooleanField(null=True)
    refusal = models.CharField(max_length=300, blank=True, help_text="Why it cannot be checked.")

    class Meta:
        ordering = ["-asked_at", "-id"]

    def __str__(self) -> str:
        return f"{self.name} for {self.deliverable}"

    @property
    def is_running(self) -> bool:
        """Waiting for its turn, or at work."""
        return self.work is not None and not self.work.is_over

    @property
    def took(self) -> timedelta | None:
        return self.ended_at - self.started_at if self.ended_at and self.started_at else None

    @property
    def specification(self) -> Specification:
        return from_json(self.wanted)


class AcceptedException(Kept):
    """One item that does not fit and was accepted all the same, in writing."""

    file_check = models.ForeignKey(FileCheck, on_delete=models.CASCADE, related_name="exceptions")
    item = models.CharField(max_length=40, help_text="The name of the check.")
    who = models.CharField("accepted by", max_length=120)
    why = models.CharField("why, and where it is written", max_length=400)
    at = models.DateTimeField()
    noted_by = changed_by_field()
    objects = KeptQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["file_check", "item"],
                condition=Q(archived_at=None),
                name="exception_once_an_item",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item} accepted by {self.who}"


class Delivery(models.Model):
    """A dated set of files that left the house. It never changes."""

    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="deliveries")
    number = models.PositiveSmallIntegerField()
    day = models.DateField()
    words = models.TextField(blank=True, help_text="A word to the client.")
    paper = models.JSONField(help_text="What its delivery sheet says.")
    manifest = models.TextField(help_text="manifest-sha256.txt, RFC 8493.")
    made_at = models.DateTimeField()
    made_by = changed_by_field()

    class Meta:
        verbose_name_plural = "deliveries"
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["production", "number"], name="delivery_number_once")
        ]

    def __str__(self) -> str:
        return f"Delivery {self.number} of {self.production.code}"


class DeliveredVersion(models.Model):
    """One deliverable in a delivery. Its versions count from 1 and never go backwards."""

    delivery = models.ForeignKey(Delivery, on_delete=models.PROTECT, related_name="versions")
    deliverable = models.ForeignKey(Deliverable, on_delete=models.PROTECT, related_name="versions")
    file_check = models.ForeignKey(FileCheck, on_delete=models.PROTECT, related_name="versions")
    version = models.PositiveSmallIntegerField()
    changed = models.TextField(blank=True, help_text="What is different from the version before.")
    offered = models.BooleanField("the client may download it", default=True)

    class Meta:
        ordering = ["deliverable__position", "deliverable_id"]
        constraints = [
            models.UniqueConstraint(fields=["deliverable", "version"], name="version_once"),
            models.UniqueConstraint(
                fields=["delivery", "deliverable"], name="deliverable_once_a_delivery"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.deliverable}, version {self.version}"


class DeliveredFile(models.Model):
    """One file of a delivered version, kept as it left: the film, or its captions."""

    of = models.ForeignKey(DeliveredVersion, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=255)
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    file = models.FileField(max_length=400)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.name


class DeliveryLink(PrivateLink):
    """A private address where the client reads a delivery and signs it off."""

    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="links")

    def __str__(self) -> str:
        return f"Link to {self.delivery}"


class ClientAnswer(models.Model):
    """The client signed a delivered version off, or asked for a change. It never changes."""

    class Kind(models.TextChoices):
        SIGNED_OFF = "signed off", "signed off"
        CHANGE = "change", "change asked for"

    of = models.ForeignKey(DeliveredVersion, on_delete=models.PROTECT, related_name="answers")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    name = models.CharField(max_length=120)
    words = models.TextField(max_length=2000, blank=True)
    at = models.DateTimeField()
    by_link = models.ForeignKey(
        DeliveryLink, null=True, on_delete=models.SET_NULL, related_name="answers"
    )
    noted_by = changed_by_field()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["of"], condition=Q(kind="signed off"), name="signed_off_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.of}: {self.get_kind_display()} by {self.name}"

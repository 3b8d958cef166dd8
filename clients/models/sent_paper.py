"""What the desk keeps of every paper a client gets and answers."""

from datetime import date

from django.db import models

from studio.models import Kept, KeptQuerySet


class OfferedQuerySet(KeptQuerySet):
    """What the client is asked to accept, in the trade's words."""

    def waiting(self) -> "OfferedQuerySet":
        """Sent, and not answered yet."""
        return self.current().filter(status=Offered.Status.SENT)

    def accepted(self) -> "OfferedQuerySet":
        """Answered with yes, oldest first."""
        return self.filter(status=Offered.Status.ACCEPTED).order_by("answered_at", "id")


class Offered(Kept):
    """A quote or a change order on its way: a draft, sent, answered. Once sent it never changes."""

    class Status(models.TextChoices):
        DRAFT = "draft", "draft"
        SENT = "sent", "sent"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        LAPSED = "lapsed", "lapsed"

    status = models.CharField(
        max_length=8, choices=Status.choices, default=Status.DRAFT, editable=False
    )
    sent_at = models.DateTimeField(null=True, editable=False)
    valid_until = models.DateField(null=True, editable=False)
    answered_at = models.DateTimeField(null=True, editable=False)
    answer = models.CharField("what the client said", max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def is_draft(self) -> bool:
        return self.status == self.Status.DRAFT

    def has_lapsed(self, today: date) -> bool:
        """Sent, and its validity is over, or marked so."""
        sent = self.status == self.Status.SENT
        return self.status == self.Status.LAPSED or (sent and self.valid_until < today)


class Signed(models.Model):
    """Who said yes to exactly which paper, and when."""

    name = models.CharField(max_length=120)
    at = models.DateTimeField()
    sha256 = models.CharField(max_length=64, help_text="Of the PDF that was accepted.")

    class Meta:
        abstract = True


class KeptPaper(models.Model):
    """A paper as it left the house: its PDF and its figures, never changed.

    `figures` are what it comes to and `paper` what the PDF says, both written by
    `clients.trade.frozen`.
    """

    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    figures = models.JSONField(default=list)
    paper = models.JSONField(default=dict)

    class Meta:
        abstract = True

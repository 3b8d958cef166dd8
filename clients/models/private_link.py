"""What every private address of a client's has in common."""

from django.db import models


class PrivateLink(models.Model):
    """A private address for the client. Only the hash of its secret is kept."""

    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        ordering = ["-created_at", "-id"]

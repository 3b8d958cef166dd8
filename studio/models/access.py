"""Who is signed in where, and the codes that let a person in without their telephone."""

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models


class SignedIn(AbstractBaseSession):
    """A browser's session; knows its person, so that they can see it and end it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.CASCADE, related_name="signed_in"
    )
    browser = models.CharField(max_length=120, blank=True)
    began_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(null=True)

    class Meta(AbstractBaseSession.Meta):
        verbose_name = "signed-in browser"

    @classmethod
    def get_session_store_class(cls):
        from studio.sessions import SessionStore

        return SessionStore


class RecoveryCode(models.Model):
    """Lets a person in once, instead of the code from their telephone. Only its hash is kept."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes"
    )
    digest = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"Recovery code of {self.person}"

"""Sessions in the database that know whose they are (Django's extended database sessions)."""

import errno
import os

from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.utils.dateparse import parse_datetime

from studio.errors import no_space_left
from studio.models import SignedIn


class SessionStore(DatabaseSessions):
    """As Django's own, with person, browser and times in columns of their own."""

    cache_key_prefix = "studio.sessions"

    @classmethod
    def get_model_class(cls):
        return SignedIn

    def save(self, must_create: bool = False) -> None:
        """Keep the session. A full disk is said as such, not as a session that is gone."""
        try:
            super().save(must_create)
        except UpdateError as error:
            if no_space_left(error):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from error
            raise

    def create_model_instance(self, data: dict) -> SignedIn:
        row = super().create_model_instance(data)
        row.person_id = data.get("_auth_user_id")
        row.browser = data.get("browser", "")
        row.began_at = parse_datetime(data.get("began_at", ""))
        row.seen_at = parse_datetime(data.get("seen_at", ""))
        return row

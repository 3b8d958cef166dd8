"""Sessions in the database that know whose they are (Django's extended database sessions)."""

from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.utils.dateparse import parse_datetime

from studio.models import SignedIn


class SessionStore(DatabaseSessions):
    """As Django's own, with person, browser and times in columns of their own."""

    cache_key_prefix = "studio.sessions"

    @classmethod
    def get_model_class(cls):
        return SignedIn

    def create_model_instance(self, data: dict) -> SignedIn:
        row = super().create_model_instance(data)
        row.person_id = data.get("_auth_user_id")
        row.browser = data.get("browser", "")
        row.began_at = parse_datetime(data.get("began_at", ""))
        row.seen_at = parse_datetime(data.get("seen_at", ""))
        return row

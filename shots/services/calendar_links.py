"""Private addresses of a production's calendar."""

from datetime import datetime

from django.db import transaction

from shots.models import CalendarLink, Production
from shots.models.plan import CALENDAR_LINK_LASTS
from studio.logs import note_private_address
from studio.models import Person
from studio.secret import digest, new_secret


@transaction.atomic
def make_link(
    production: Production, label: str, by: Person, now: datetime
) -> tuple[CalendarLink, str]:
    """A new link and its secret, which is told this once: only its digest is kept."""
    secret = new_secret()
    link = CalendarLink.objects.create(
        production=production, label=label, digest=digest(secret), made_at=now, made_by=by
    )
    return link, secret


@transaction.atomic
def revoke_link(link: CalendarLink, now: datetime) -> None:
    """From now on this address answers nobody."""
    CalendarLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now)


def open_link(secret: str, now: datetime) -> CalendarLink | None:
    """The live link with this secret; notes that it was used."""
    live = CalendarLink.objects.filter(
        revoked_at=None, production__archived_at=None, made_at__gt=now - CALENDAR_LINK_LASTS
    )
    link = live.filter(digest=digest(secret)).select_related("production").first()
    if link:
        CalendarLink.objects.filter(pk=link.pk).update(last_seen_at=now)
    note_private_address("calendarlink", link and link.pk)
    return link

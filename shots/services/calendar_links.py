"""Private addresses of a production's calendar."""

from datetime import datetime

from django.db import transaction

from shots.models import CalendarLink, Production
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


def link_of(secret: str) -> CalendarLink | None:
    """The live link with this secret."""
    live = CalendarLink.objects.filter(revoked_at=None, production__archived_at=None)
    return live.filter(digest=digest(secret)).select_related("production").first()

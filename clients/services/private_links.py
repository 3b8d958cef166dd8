"""Private addresses: made with a secret that is told once, opened with it, and closed."""

from datetime import date, datetime, time, timedelta

from django.db import transaction
from django.db.models import QuerySet

from clients.models import PrivateLink
from studio.logs import note_private_address
from studio.secret import digest, new_secret

# A link outlives the paper's validity by this much, so that the client can still look.
DAYS_AFTER = 30


@transaction.atomic
def make_link(kind: type[PrivateLink], now: datetime, expires_at: datetime, **about: object) -> str:
    """A private address to what it is `about`; returns its secret, which is kept nowhere."""
    token = new_secret()
    kind.objects.create(token_hash=digest(token), created_at=now, expires_at=expires_at, **about)
    return token


def end_of(valid_until: date, now: datetime) -> datetime:
    """When a link to a paper ends that is valid until a day: some time after both."""
    ends = datetime.combine(valid_until, time.max, now.tzinfo)
    return max(ends, now) + timedelta(days=DAYS_AFTER)


@transaction.atomic
def revoke_link(link: PrivateLink, now: datetime) -> None:
    """Close a private address."""
    type(link).objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now)


def open_link(links: QuerySet, token: str, now: datetime) -> PrivateLink | None:
    """The one of `links` a secret opens, or None where it is unknown, expired or revoked."""
    link = links.filter(token_hash=digest(token), revoked_at=None, expires_at__gt=now).first()
    if link:
        type(link).objects.filter(pk=link.pk).update(last_seen_at=now)
    note_private_address(links.model._meta.model_name, link and link.pk)
    return link

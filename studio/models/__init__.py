"""What is stored of the house."""

from studio.models.access import RecoveryCode, SignedIn
from studio.models.house import (
    DayOff,
    Kept,
    KeptQuerySet,
    Person,
    PersonManager,
    Studio,
    _timezones,  # noqa: F401  the first migration names it
    changed_by_field,
)
from studio.models.long_work import LongWork, LongWorkQuerySet

__all__ = [
    "DayOff",
    "Kept",
    "KeptQuerySet",
    "LongWork",
    "LongWorkQuerySet",
    "Person",
    "PersonManager",
    "RecoveryCode",
    "SignedIn",
    "Studio",
    "changed_by_field",
]

"""What a person does to the studio itself. Writes; never sees a request."""

from datetime import datetime

from django.db import models, transaction
from django.dispatch import Signal

from studio.errors import EditedMeanwhile, NotPossible
from studio.models import DayOff, Person, Studio

# Sent inside the transaction that opens a studio: each app lays out its own first lists.
studio_opened = Signal()


@transaction.atomic
def save_changes(row: models.Model, read_version: int, changes: dict) -> models.Model:
    """Save `changes` to `row` if nobody saved it since `read_version`, and raise its version.

    Only the changed fields are written. Raises EditedMeanwhile with the row as it now stands.
    """
    current = type(row)._default_manager.select_for_update().get(pk=row.pk)
    if current.version != read_version:
        raise EditedMeanwhile(current)
    changed = [name for name, value in changes.items() if getattr(current, name) != value]
    if not changed:
        return current
    for name in changed:
        setattr(current, name, changes[name])
    current.version += 1
    current.save(update_fields=[*changed, "version"])
    return current


@transaction.atomic
def archive(row: models.Model, now: datetime) -> None:
    """Put a row aside; `restore` brings it back as it was."""
    _set_archived(row, now)


@transaction.atomic
def restore(row: models.Model) -> None:
    """Bring an archived row back."""
    _set_archived(row, None)


def _set_archived(row: models.Model, when: datetime | None) -> None:
    current = type(row)._default_manager.select_for_update().get(pk=row.pk)
    current.archived_at = when
    current.version += 1
    current.save(update_fields=["archived_at", "version"])


@transaction.atomic
def open_studio(profile: dict, owner: dict) -> tuple[Studio, Person]:
    """The first run: make the studio and its owner. Raises NotPossible where a studio is open."""
    if Studio.objects.select_for_update().exists():
        raise NotPossible("This studio is open already. Sign in instead.")
    studio = Studio.objects.create(**profile)
    person = Person.objects.create_person(role=Person.Role.OWNER, job="Animator", **owner)
    studio_opened.send(sender=Studio, studio=studio)
    return studio, person


@transaction.atomic
def add_person(fields: dict, password: str = "") -> Person:
    """Add somebody who works here; without a password they cannot sign in."""
    person = Person(**fields)
    _set_password(person, password)
    person.save()
    return person


@transaction.atomic
def change_person(person: Person, read_version: int, fields: dict, password: str = "") -> Person:
    """Change a person. The last owner who can sign in cannot be demoted or switched off."""
    keeps_house = fields["role"] == Person.Role.OWNER and fields["is_active"]
    others = Person.objects.filter(role=Person.Role.OWNER, is_active=True).exclude(pk=person.pk)
    if person.is_owner and not keeps_house and not others.exists():
        raise NotPossible("Somebody must own the studio: make another person owner first.", "role")
    person = save_changes(person, read_version, fields)
    if password:
        _set_password(person, password)
        person.save(update_fields=["password"])
    return person


@transaction.atomic
def change_own_password(person: Person, password: str) -> None:
    """A person's new password; sessions begun with the old one end."""
    person.set_password(password)
    person.save(update_fields=["password"])


def _set_password(person: Person, password: str) -> None:
    if password and person.sign_in_name:
        person.set_password(password)
    else:
        person.set_unusable_password()


@transaction.atomic
def add_days_off(first, last, label: str) -> DayOff:
    """Mark days on which the studio does not shoot."""
    return DayOff.objects.create(first=first, last=last, label=label)

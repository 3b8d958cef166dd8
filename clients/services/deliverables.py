"""What a person does with the files promised to a client, and with their checks."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from clients.models import Deliverable, DeliverableCheck
from clients.queries import deliverables as queries
from shots.models import Production
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Person
from studio.services import save_changes

_COPY = " (copy)"


@transaction.atomic
def add_deliverable(production: Production, fields: dict, checks: Iterable[str]) -> Deliverable:
    """Promise a file, with the checks it must pass; it stands last."""
    deliverable = Deliverable.objects.create(production=production, **fields)
    _order(production, [*_others(deliverable), deliverable])
    DeliverableCheck.objects.bulk_create(
        DeliverableCheck(deliverable=deliverable, text=text, position=n)
        for n, text in enumerate(checks)
    )
    return deliverable


@transaction.atomic
def change_deliverable(deliverable: Deliverable, read_version: int, fields: dict) -> Deliverable:
    """Change what was promised. Ticks stay: the page asks to look again."""
    return save_changes(deliverable, read_version, fields)


def follow_the_film(production: Production) -> None:
    """Before the film gets another length: files typed exactly as long as it follow it from now on.

    A file of another length, such as a shorter cut, stays as it was typed.
    """
    typed = production.deliverables.current().exclude(frames=None)
    for row in typed.select_related("production", "specification"):
        if row.frames == queries.film_length(row):
            save_changes(row, row.version, {"frames": None})


@transaction.atomic
def duplicate_deliverable(deliverable: Deliverable) -> Deliverable:
    """The same specification and checks once more, unticked, right after.

    The file name stays empty: two files cannot share one.
    """
    kept = {
        field.name: getattr(deliverable, field.name)
        for field in Deliverable._meta.concrete_fields
        if field.editable and not field.primary_key
    }
    kept["name"] = deliverable.name[: 120 - len(_COPY)] + _COPY
    copy = Deliverable.objects.create(**kept | {"file_name": ""})
    DeliverableCheck.objects.bulk_create(
        DeliverableCheck(deliverable=copy, text=check.text, position=check.position)
        for check in deliverable.checks.current()
    )
    rows = _others(copy)
    rows.insert(rows.index(deliverable) + 1, copy)
    _order(deliverable.production, rows)
    return copy


@transaction.atomic
def move_deliverable(deliverable: Deliverable, step: int) -> None:
    """Up (-1) or down (1) one place on the page and the delivery sheet; at the end it stays."""
    rows = _others(deliverable)
    stands = list(deliverable.production.deliverables.current()).index(deliverable)
    rows.insert(min(max(stands + step, 0), len(rows)), deliverable)
    _order(deliverable.production, rows)


def _others(deliverable: Deliverable) -> list[Deliverable]:
    return list(deliverable.production.deliverables.current().exclude(pk=deliverable.pk))


def _order(production: Production, rows: list[Deliverable]) -> None:
    for position, row in enumerate(rows):
        # A place is no change of the promise: neither version nor history.
        production.deliverables.filter(pk=row.pk).update(position=position)


@transaction.atomic
def add_check(deliverable: Deliverable, text: str) -> DeliverableCheck:
    """One more thing to look at, last on the list."""
    last = deliverable.checks.order_by("position").last()
    return DeliverableCheck.objects.create(
        deliverable=deliverable, text=text, position=last.position + 1 if last else 0
    )


@transaction.atomic
def change_check(check: DeliverableCheck, read_version: int, text: str) -> DeliverableCheck:
    """Say a check differently. A tick vouched for the old words, so new ones start unticked."""
    changes = {"text": text}
    if text != check.text:
        changes |= {"ticked_at": None, "ticked_by": None, "filled_from": None}
    return save_changes(check, read_version, changes)


@transaction.atomic
def set_tick(
    check: DeliverableCheck, read_version: int, ticked: bool, person: Person, now: datetime
) -> DeliverableCheck:
    """Tick or untick a check, keeping who and when.

    Of two people ticking at once the first stands. Raises EditedMeanwhile where the check was
    changed since it was read, so that nobody vouches for words they have not seen, and NotPossible
    where a measurement answers it.
    """
    current = DeliverableCheck.objects.select_for_update().get(pk=check.pk)
    if current.filled_from_id:
        raise NotPossible("The check of the file fills this box: check the file again.")
    if current.is_ticked == ticked:
        return current
    if current.version != read_version:
        raise EditedMeanwhile(current)
    current.ticked_at = now if ticked else None
    current.ticked_by = person if ticked else None
    current.version += 1
    current.save(update_fields=["ticked_at", "ticked_by", "version"])
    return current

"""What a person does with the specifications the studio keeps."""

from dataclasses import replace
from itertools import chain, count

from django.db import transaction
from django.db.models import QuerySet

from clients.models import StudioSpecification
from clients.trade.specification import BUILT_IN, Specification, to_json
from studio.errors import NotPossible
from studio.services import restore, save_changes


def lay_out_specifications(sender, **kwargs) -> None:
    """Give a new studio the specifications that come with it."""
    for specification in BUILT_IN.values():
        add_specification(specification.title, items_of(specification))


def items_of(specification: Specification) -> dict:
    """What is kept of a specification: its items, the title being the row's name."""
    return to_json(replace(specification, title=""))


@transaction.atomic
def add_specification(title: str, items: dict) -> StudioSpecification:
    """Keep a specification."""
    _refuse_taken(title)
    return StudioSpecification.objects.create(title=title, items=items)


@transaction.atomic
def change_specification(
    specification: StudioSpecification, read_version: int, fields: dict
) -> StudioSpecification:
    """Change a specification. Files checked before are then known to be checked against another."""
    _refuse_taken(fields["title"], specification)
    return save_changes(specification, read_version, fields)


@transaction.atomic
def copy_specification(specification: StudioSpecification) -> StudioSpecification:
    """The same once more under a free name, to change what differs."""
    start = specification.title[:100]
    numbered = (f"{start} (copy {number})" for number in count(2))
    title = next(title for title in chain([f"{start} (copy)"], numbered) if not _called(title))
    return StudioSpecification.objects.create(title=title, items=specification.items)


@transaction.atomic
def restore_specification(specification: StudioSpecification) -> None:
    """Bring an archived specification back, unless its name was given away meanwhile."""
    _refuse_taken(specification.title, specification)
    restore(specification)


def _called(title: str) -> QuerySet[StudioSpecification]:
    return StudioSpecification.objects.current().filter(title__iexact=title)


def _refuse_taken(title: str, own: StudioSpecification | None = None) -> None:
    if _called(title).exclude(pk=own.pk if own else None).exists():
        raise NotPossible(
            f"There is a specification called “{title}” already: choose another name.", "title"
        )

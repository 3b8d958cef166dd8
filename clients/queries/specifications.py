"""What the pages of the studio's specifications show."""

from dataclasses import dataclass

from django.db.models import Count, Q

from clients.models import StudioSpecification
from clients.trade.specification import in_words


@dataclass(frozen=True)
class SpecificationRow:
    """A specification in the list: what it asks for in words, and how many files it is for."""

    specification: StudioSpecification
    lines: tuple[tuple[str, str], ...]
    files: int


@dataclass(frozen=True)
class SpecificationList:
    """Those in use, and those put aside."""

    rows: tuple[SpecificationRow, ...]
    archived: tuple[StudioSpecification, ...]


def specifications() -> SpecificationList:
    """Every specification, by name."""
    promised = Count("deliverables", Q(deliverables__archived_at=None))
    rows = list(StudioSpecification.objects.annotate(files=promised).order_by("title", "id"))
    return SpecificationList(
        rows=tuple(
            SpecificationRow(row, in_words(row.wanted), row.files)
            for row in rows
            if not row.archived_at
        ),
        archived=tuple(row for row in rows if row.archived_at),
    )

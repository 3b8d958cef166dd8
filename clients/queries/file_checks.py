"""What the page of one deliverable's file shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from clients.models import Deliverable, FileCheck
from clients.queries.deliverables import Promised, last_check_of, promised
from clients.reading.folders import newest_files
from clients.trade.delivery import FILM_ENDINGS

MOST_LISTED = 100
EARLIER_SHOWN = 20


@dataclass(frozen=True)
class FilePage:
    """A deliverable, its newest check, those before, and films on this machine to choose from."""

    row: Promised
    earlier: tuple[FileCheck, ...]
    films: tuple[Path, ...]


def file_page(deliverable: Deliverable, folders: Sequence[Path]) -> FilePage:
    """One deliverable's file."""
    last = last_check_of(deliverable)
    checks = deliverable.file_checks.select_related("work").defer("results", "wanted")
    return FilePage(
        row=promised(deliverable, last),
        earlier=tuple(checks[1 : 1 + EARLIER_SHOWN]),
        films=tuple(newest_files(folders, FILM_ENDINGS, MOST_LISTED)),
    )

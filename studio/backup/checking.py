"""Reads a backup from end to end and says whether all of it is there, unchanged."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from studio.backup.bag import BAGIT, BagRefused, Member, read_bag, read_tag
from studio.backup.description import FILE, Description, read_description

ROWS = re.compile(r"data/rows/([a-z_]+\.[a-z0-9_]+)/\d{6}\.jsonl\.gz")
FILES = "data/files/"


@dataclass(frozen=True)
class Found:
    """What a whole backup holds. `size` is bytes of its contents."""

    description: Description
    files: int
    size: int


@contextmanager
def opened(path: Path) -> Iterator[tuple[Description, Iterator[Member]]]:
    """The description of a backup and what it carries; read to the end, it is checked."""
    with path.open("rb") as stream:
        members = read_bag(stream)
        for path in (BAGIT, FILE):
            tag = next(members, None)
            if tag is None or tag.path != path:
                raise BagRefused(f"This is no backup of Stillcount: it has no {path}.")
        yield read_description(read_tag(tag)), members


def check_backup(path: Path, progress: Callable[[int, int, str], None]) -> Found:
    """Hold every sum in a backup against its contents. Raises BagRefused, or OSError."""
    files = done = 0
    whole = path.stat().st_size
    with opened(path) as (description, members):
        for member in members:
            if member.path.startswith(FILES):
                files += 1
            elif not ROWS.fullmatch(member.path):
                raise BagRefused(f"{member.path} does not belong in a backup.")
            done += member.size
            progress(min(done, whole), whole, "checking sums")
    return Found(description, files, done)

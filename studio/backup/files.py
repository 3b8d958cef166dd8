"""Kept files during a restore: old and new lie side by side until the database has changed over.

Nearly all have random names and never change, so both sets fit into one folder. The old database
finds all its files there, and so does the new one; only afterwards do the files of the old one go.
A delivery's files have names that count: those of another history are replaced, and come back
where the restore is stopped before the databases change over.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage

from studio.backup.bag import Member
from studio.errors import NotPossible


def stage(member: Member, path: Path) -> None:
    """Write one file of a backup where it can be checked before it counts."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as out:
        shutil.copyfileobj(member.content, out)
    path.chmod(0o600)


def put_aside(aside: Path) -> None:
    """Give `aside` a set of its own of the kept files, which stay where they are."""
    if isinstance(default_storage, FileSystemStorage):
        kept = Path(default_storage.location)
        for name in names(kept):
            link(kept / name, aside / name)


def put_in_place(staged: Path, aside: Path) -> None:
    """Put the new files among the old ones, all of which lie in `aside` too."""
    if not isinstance(default_storage, FileSystemStorage):
        _upload(staged)
        return
    kept = Path(default_storage.location)
    try:
        for name in names(staged):
            _replace(kept / name, staged / name)
    except BaseException:
        take_back(staged, aside)
        raise


def remove(of: Path, but: Path) -> None:
    """Remove the kept files that stand in the one set and not in the other."""
    if not isinstance(default_storage, FileSystemStorage):
        return  # what lies in a bucket is not ours to tidy
    kept = Path(default_storage.location)
    for name in names(of):
        if not (but / name).exists():
            (kept / name).unlink(missing_ok=True)


def _replace(target: Path, by: Path) -> None:
    draft = target.with_name(f"{target.name}.restoring")
    try:
        link(by, draft)
        os.replace(draft, target)
    finally:
        draft.unlink(missing_ok=True)


def take_back(staged: Path, aside: Path) -> None:
    """Let the kept files be those that were put aside, after the new ones came among them.

    Only what is still the very file that came goes: a file made since may bear its name.
    """
    if not isinstance(default_storage, FileSystemStorage):
        return
    kept = Path(default_storage.location)
    for name in names(staged):
        if not (kept / name).exists() or not (kept / name).samefile(staged / name):
            continue
        if (aside / name).exists():
            _replace(kept / name, aside / name)
        else:
            (kept / name).unlink()


def names(folder: Path) -> Iterator[str]:
    """Every file under a folder, by its path from there."""
    for parent, _, files in os.walk(folder):
        for name in files:
            yield (Path(parent) / name).relative_to(folder).as_posix()


def link(source: Path, target: Path) -> None:
    """The same file under a second name; a copy where the disk knows no such thing."""
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)


def _upload(staged: Path) -> None:
    for name in names(staged):
        with (staged / name).open("rb") as file:
            if default_storage.exists(name):
                _check_same(name, file)
            else:
                default_storage.save(name, File(file))


def _check_same(name: str, file) -> None:
    with default_storage.open(name) as there:
        same = True
        while same and (piece := file.read(1024 * 1024)):
            same = there.read(len(piece)) == piece
        if not same or there.read(1):
            raise NotPossible(
                f"The file storage has another file called {name}. Restore into an empty one."
            )

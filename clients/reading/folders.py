"""Which files on this machine a page may open: those in the folders its keeper allowed."""

import os
from collections.abc import Collection, Iterator, Sequence
from itertools import islice
from pathlib import Path

from clients.reading.film import FileRefused

DEEPEST = 3
"""folders below an allowed one that are listed"""
MOST_SEEN = 5_000
"""files of each folder looked at for the list"""


def allowed_file(typed: str, folders: Sequence[Path]) -> Path:
    """The real path of the ordinary file a person named, every link in it followed.

    A path that does not start at the top is looked for in each of `folders`. Raises FileRefused
    with a sentence where there is none, or where it lies or leads outside of them.
    """
    if not typed.isprintable():
        raise FileRefused("The path holds a control character; type it anew.")
    path = Path(typed.strip())
    if not path.name:
        raise FileRefused("Write the path of one file.")
    if ".." in path.parts:
        raise FileRefused("A path may not climb with “..”; write it in full.")
    if path.is_absolute() and not _is_inside(path, folders):
        listed = ", ".join(str(folder) for folder in folders)
        raise FileRefused(f"The file must lie in an allowed folder: {listed}.")
    for found in filter(None, (_real(folder / path) for folder in folders)):
        if not _is_inside(found, folders):
            raise FileRefused("This link leads out of the allowed folders; copy the file there.")
        if not str(found).isprintable():
            raise FileRefused("This link leads to a name that cannot be kept; rename the file.")
        if not found.is_file():
            raise FileRefused("This is not an ordinary file; give the path of a film.")
        return found
    raise FileRefused("There is no such file in the allowed folders; check the path.")


def newest_files(folders: Sequence[Path], endings: Collection[str], most: int) -> list[Path]:
    """Files in the allowed folders that end in one of `endings`, the newest first.

    Links are not followed, hidden folders not entered.
    """
    found = [path for folder in folders for path in islice(_files(folder), MOST_SEEN)]
    films = [path for path in found if path.suffix.lower() in endings and str(path).isprintable()]
    return sorted(films, key=_age, reverse=True)[:most]


def _files(folder: Path) -> Iterator[Path]:
    for place, inner, names in os.walk(folder):
        is_deep = len(Path(place).relative_to(folder).parts) >= DEEPEST
        inner[:] = [name for name in inner if not is_deep and not name.startswith(".")]
        yield from (Path(place, name) for name in names if not os.path.islink(Path(place, name)))


def _age(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:  # gone since it was listed
        return 0.0


def _is_inside(path: Path, folders: Sequence[Path]) -> bool:
    return any(path.is_relative_to(folder) for one in folders for folder in (one, one.resolve()))


def _real(path: Path) -> Path | None:
    """The path with every link followed; None where nothing is there, or links go in a circle."""
    try:
        return path.resolve(strict=True)
    except (OSError, RuntimeError):
        return None

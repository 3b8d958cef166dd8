"""Whether somebody is using the data folder, so that a restore never swaps it under a running site.

The lock is the system's own: it goes when its process goes, however that ends.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from django.core.files import locks

from studio.errors import NotPossible

LOCK_FILE = "in-use"


@contextmanager
def in_use(folder: Path) -> Iterator[None]:
    """Serve or work with the folder's data. Raises NotPossible while it is being restored."""
    with _locked(
        folder, locks.LOCK_SH, f"{folder} is being restored. Wait until that is done, then start."
    ):
        yield


@contextmanager
def ours_alone(folder: Path) -> Iterator[None]:
    """Have the folder to oneself. Raises NotPossible while a site or its work uses it."""
    with _locked(
        folder,
        locks.LOCK_EX,
        f"Stillcount is running on {folder}. Stop it (Ctrl+C, or the service), then restore.",
    ):
        yield


@contextmanager
def _locked(folder: Path, kind: int, refusal: str) -> Iterator[IO[bytes]]:
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / LOCK_FILE).open("ab") as file:
        if not locks.lock(file, kind | locks.LOCK_NB):
            raise NotPossible(refusal)
        yield file

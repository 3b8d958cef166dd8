"""Whether somebody is using the data folder, so that a restore never swaps it under a running site.

The lock is the system's own: it goes when its process goes, however that ends.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.files import locks
from django.core.management import CommandError

from studio.errors import NotPossible

LOCK_FILE = "in-use"
NOT_DONE = 2  # exit status


@contextmanager
def in_use(folder: Path) -> Iterator[None]:
    """Serve or work with the folder's data. Raises CommandError while it is being restored."""
    refusal = f"{folder} is being restored. Wait until that is done, then try again."
    with _locked(folder, locks.LOCK_SH, CommandError(refusal, returncode=NOT_DONE)):
        yield


@contextmanager
def ours_alone(folder: Path) -> Iterator[None]:
    """Have the folder to oneself. Raises NotPossible while a site or its work uses it."""
    refusal = f"Stillcount is running on {folder}. Stop it (Ctrl+C, or the service), then restore."
    with _locked(folder, locks.LOCK_EX, NotPossible(refusal)):
        yield


@contextmanager
def _locked(folder: Path, kind: int, refusal: Exception) -> Iterator[None]:
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / LOCK_FILE).open("ab") as file:
        if not locks.lock(file, kind | locks.LOCK_NB):
            raise refusal
        yield

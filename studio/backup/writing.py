"""Makes one file of the database and the kept files, while the site is in use."""

import io
import os
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.core.files.storage import Storage, default_storage
from django.db import connections

from studio.backup import rows
from studio.backup.bag import BagRefused, BagWriter
from studio.backup.checking import check_backup
from studio.backup.description import FILE, Description, applied, known
from studio.backup.snapshot import snapshot
from studio.errors import NotPossible
from studio.trade.file_size import file_size

MADE_ANEW = {"previews"}  # folders of what is made of kept pictures, whenever it is asked for
Progress = Callable[[int, int, str], None]  # done, of how many (0: not known), at what


def say_nothing(done: int, of: int, at: str) -> None:
    """The progress nobody asked for."""


@dataclass(frozen=True)
class Written:
    """A backup that was made and read back."""

    path: Path
    size: int  # bytes
    rows: int
    files: int

    @property
    def sentence(self) -> str:
        return (
            f"{self.path.name}: {self.rows:,} rows and {self.files:,} files, "
            f"{file_size(self.size)}, read back and found whole."
        )


def write_backup(target: Path, made_at: datetime, progress: Progress = say_nothing) -> Written:
    """Make a backup at `target`, which appears there only once it was read back whole.

    Raises NotPossible where there is something there already, no room, or no right to write.
    """
    if target.exists():
        raise NotPossible(f"There is a file at {target} already. Give another name.")
    draft = target.with_name(f".{target.name}.{secrets.token_hex(4)}")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _write(draft, made_at, progress)
        found = check_backup(draft, progress)
        os.replace(draft, target)
        _keep_name(target.parent)
    except (OSError, EOFError, BagRefused) as error:
        reason = getattr(error, "strerror", None) or error
        raise NotPossible(f"The backup was not made: {reason} ({target}).") from error
    finally:
        draft.unlink(missing_ok=True)
    count = sum(found.description.rows.values())
    return Written(target, target.stat().st_size, count, found.files)


def _write(path: Path, made_at: datetime, progress: Progress) -> None:
    # Read by its owner only: the whole business is inside.
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    with os.fdopen(handle, "wb") as out:
        with BagWriter(out, made_at) as bag, snapshot() as alias:
            _add_rows(bag, alias, made_at, progress)
            # Files are written before their rows, never changed and never taken away: all that
            # the rows of the snapshot name are there.
            _add_files(bag, default_storage, progress)
        out.flush()
        os.fsync(out.fileno())


def _add_rows(bag: BagWriter, alias: str, made_at: datetime, progress: Progress) -> None:
    migrations = applied(connections[alias])
    if set(migrations) != known():
        raise NotPossible(
            "The database is not in the shape this Stillcount wants. Run `manage.py migrate`, "
            "then make the backup."
        )
    kept = rows.kept_models()
    counts = {model._meta.label_lower: _all(model, alias).count() for model in kept}
    description = Description(made_at, migrations, counts)
    bag.add_tag(FILE, description.to_bytes())
    done, total = 0, sum(counts.values())
    for model in kept:
        for number, (packed, count) in enumerate(rows.chunks(model, alias), start=1):
            path = f"rows/{model._meta.label_lower}/{number:06}.jsonl.gz"
            bag.add(path, io.BytesIO(packed), len(packed))
            done += count
            progress(done, total, "writing rows")


def _all(model, alias: str):
    return model._base_manager.using(alias)


def _add_files(bag: BagWriter, storage: Storage, progress: Progress) -> None:
    for number, name in enumerate(stored_files(storage), start=1):
        try:
            file = storage.open(name)
        except FileNotFoundError:
            continue  # of something given up since it was listed: no row ever named it
        with file:
            bag.add(f"files/{name}", file, file.size)
        progress(number, 0, "writing files")


def stored_files(storage: Storage) -> Iterator[str]:
    """The name of every file of a storage that cannot be made anew, in a fixed order."""
    for name in _all_files(storage):
        if name.partition("/")[0] not in MADE_ANEW:
            yield name


def _all_files(storage: Storage, folder: str = "") -> Iterator[str]:
    try:
        folders, files = storage.listdir(folder)
    except FileNotFoundError:
        return
    prefix = f"{folder}/" if folder else ""
    yield from (prefix + name for name in sorted(files))
    for name in sorted(folders):
        yield from _all_files(storage, prefix + name)


def _keep_name(folder: Path) -> None:
    """Make sure that a power cut does not take a new file's name away again."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

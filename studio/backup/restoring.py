"""Puts a backup back in the place of what is there, or leaves that exactly as it was.

Everything is made beside what is there and changes over at one moment: on SQLite when the new
database file takes the old one's name, on PostgreSQL when the transaction is kept. A stop before
that moment leaves the old data, a stop after it the new.
"""

import itertools
import os
import shutil
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.apps.registry import Apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import (
    DEFAULT_DB_ALIAS,
    Error,
    OperationalError,
    connection,
    connections,
    transaction,
)
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from studio.backup import files, rows
from studio.backup.bag import BagRefused
from studio.backup.checking import FILES, ROWS, check_backup, opened
from studio.backup.description import Description, known
from studio.backup.in_use import ours_alone
from studio.backup.writing import Progress, say_nothing, write_backup
from studio.errors import NotPossible

WORKSHOP = ".restoring-"  # folder where things are made; left behind only by a power cut
NOTE = "before"  # in it: which database stood when the new files came among the old
ASIDE = "before-restore-"
PATIENCE = "10s"  # how long to wait for others to let go of PostgreSQL's tables
IN_USE = "Another program is using the database. Stop `start`, `work` and `intake`, then restore."


@dataclass(frozen=True)
class Restored:
    """What was put back, and where what was there before lies; None where nothing was."""

    made_at: datetime
    rows: int
    files: int
    aside: Path | None


def restore(path: Path, now: datetime, progress: Progress = say_nothing) -> Restored:
    """Put the backup at `path` in the place of database and kept files.

    Every sum is checked before anything is touched. Raises NotPossible for a damaged, foreign or
    newer backup and while the site runs; everything is then as it was.
    """
    folder = settings.DATA_DIR
    with ours_alone(folder), _in_words():
        settle(folder)
        found = check_backup(path, progress)
        _refuse_newer(found.description)
        aside = _unused(folder / f"{ASIDE}{now:%Y-%m-%d-%H%M%S}")
        workshop = folder / f"{WORKSHOP}{aside.name}"
        workshop.mkdir(mode=0o700)
        aside.mkdir(mode=0o700)
        _change_over(path, workshop, aside, progress)
        if not any(aside.iterdir()):
            aside.rmdir()
            aside = None
    count = sum(found.description.rows.values())
    return Restored(found.description.made_at, count, found.files, aside)


def settle(folder: Path) -> None:
    """Clear up after a restore that was stopped: where the old database stands, its files do too.

    Nobody may be restoring at the time.
    """
    for workshop in folder.glob(f"{WORKSHOP}*"):
        note = workshop / NOTE
        if note.exists() and note.read_text() == _which_database():
            aside = folder / workshop.name.removeprefix(WORKSHOP)
            files.take_back(workshop / "files", aside / "files")
        shutil.rmtree(workshop)


def _which_database() -> str:
    """Another text once a restore has put another database in the place of this one."""
    if connection.vendor == "sqlite":
        path = Path(connection.settings_dict["NAME"])
        return str(path.stat().st_ino) if path.exists() else ""
    with connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass('studio_studio')::oid::text")
        return cursor.fetchone()[0] or ""


def _unused(path: Path) -> Path:
    """The path, or its like with a number where a restore of the same second was stopped."""
    names = (path.with_name(f"{path.name}-{n}") for n in itertools.count(2))
    return next(one for one in itertools.chain([path], names) if not one.exists())


def _change_over(path: Path, workshop: Path, aside: Path, progress: Progress) -> None:
    staged, old = workshop / "files", aside / "files"
    make = _sqlite if connection.vendor == "sqlite" else _postgresql
    before, is_ready = _which_database(), False
    try:
        with make(workshop, aside):
            _fill(path, staged, progress)
            progress(0, 0, "putting files in place")
            files.put_aside(old)
            (workshop / NOTE).write_text(before)
            files.put_in_place(staged, old)
            is_ready = True
        files.remove(old, but=staged)
    finally:
        shutil.rmtree(workshop)
        if not is_ready:
            shutil.rmtree(aside)  # second names of what is still in its place


@contextmanager
def _in_words() -> Iterator[None]:
    """Say why it could not be; what was there is untouched."""
    try:
        yield
    except (BagRefused, rows.RowsRefused) as refusal:
        raise NotPossible(f"{refusal} Nothing was changed.") from refusal
    except Error as error:
        first_line = str(error).partition("\n")[0].rstrip(".")
        raise NotPossible(
            f"The database does not take this backup: {first_line}. Nothing was changed."
        ) from error
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise NotPossible(
            f"Restoring broke off: {error.strerror or error}{where}. Nothing was changed."
        ) from error


def _refuse_newer(description: Description) -> None:
    newer = sorted(set(description.migrations) - known())
    if newer:
        names = ", ".join(f"{app} {name}" for app, name in newer)
        raise NotPossible(
            f"This backup comes from a newer Stillcount, which also has {names}. "
            "Bring this one up to date, then restore."
        )


@contextmanager
def _sqlite(workshop: Path, aside: Path) -> Iterator[None]:
    """A new database file stands in for the old one, and takes its name at the end."""
    live = connections[DEFAULT_DB_ALIAS]
    live.close()
    new = live.copy()
    path, made = Path(live.settings_dict["NAME"]), workshop / "stillcount.sqlite3"
    new.settings_dict["NAME"] = made
    with _held(path):
        connections[DEFAULT_DB_ALIAS] = new
        try:
            yield
            with new.cursor() as cursor:
                cursor.execute("PRAGMA journal_mode=DELETE")  # all of it in the one file
        finally:
            new.close()
            connections[DEFAULT_DB_ALIAS] = live
        if path.exists():
            files.link(path, aside / path.name)
        for leftover in path.parent.glob(f"{path.name}-*"):  # journals of a damaged database
            os.replace(leftover, aside / leftover.name)
        os.sync()
        os.replace(made, path)


@contextmanager
def _held(live: Path) -> Iterator[None]:
    """Keep everybody else out of the old database, with all that belongs to it in one file."""
    if not live.exists():
        yield
        return
    holder = sqlite3.connect(live, timeout=1, isolation_level=None)
    try:
        holder.execute("PRAGMA locking_mode=EXCLUSIVE")
        holder.execute("PRAGMA journal_mode=DELETE")
        holder.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        holder.close()
        raise NotPossible(IN_USE) from error
    except sqlite3.DatabaseError:
        pass  # It is damaged, which is why somebody restores: nobody can be using it.
    try:
        yield
    finally:
        holder.close()


@contextmanager
def _postgresql(workshop: Path, aside: Path) -> Iterator[None]:
    """The database itself, emptied and filled again in one transaction."""
    tables = connection.introspection.table_names()
    if "studio_studio" in tables:
        write_backup(aside / "before.tar", timezone.now())
    with transaction.atomic():
        try:
            _drop({*connection.introspection.django_table_names(), "django_migrations"} & {*tables})
        except OperationalError as error:
            raise NotPossible(IN_USE) from error
        yield


def _drop(tables: set[str]) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL lock_timeout = %s", [PATIENCE])
        for table in sorted(tables):
            cursor.execute(f"DROP TABLE {connection.ops.quote_name(table)} CASCADE")


def _fill(path: Path, staged: Path, progress: Progress) -> None:
    """Make the tables as they were when the backup was made, fill them, bring them up to date."""
    with opened(path) as (description, members):
        then = _shaped(description)
        with transaction.atomic():
            # Making tables can leave PostgreSQL checking each row at once, in whatever order rows
            # come; from here on it waits for the check at the end.
            connection.check_constraints()
            _load(then, description, members, staged, progress)
            _count_on(then)
            connection.check_constraints()
    call_command("migrate", verbosity=0, interactive=False)


def _shaped(description: Description) -> Apps:
    """The tables and models of the backup's day."""
    executor = MigrationExecutor(connection)
    graph = executor.loader.graph
    nodes = set(description.migrations)
    ours = [
        node
        for node in sorted(nodes)
        if not any(
            child.key in nodes and child.key[0] == node[0]
            for child in graph.node_map[node].children
        )
    ]
    others = [node for node in graph.leaf_nodes() if node[0] not in rows.kept_apps()]
    then = executor.migrate(ours + others).apps
    for model in rows.kept_models(then):
        for field in model._meta.concrete_fields:
            field.auto_now = field.auto_now_add = False  # a moment that was written comes back
    return then


def _load(then, description, members, staged, progress) -> None:
    models = {model._meta.label_lower: model for model in rows.kept_models(then)}
    loaded, total = Counter(), sum(description.rows.values())
    for member in members:
        if of_model := ROWS.fullmatch(member.path):
            label = of_model[1]
            if label not in models:
                raise rows.RowsRefused(f"The backup has rows of {label}, which nothing here knows.")
            loaded[label] += rows.load_chunk(models[label], member.content)
            progress(loaded.total(), total, "reading rows")
        else:
            files.stage(member, staged / member.path.removeprefix(FILES))
    if +loaded != +Counter(description.rows):
        raise rows.RowsRefused("The backup does not have as many rows as it says.")


def _count_on(then: Apps) -> None:
    """Let new rows be numbered after those that were put back."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), rows.kept_models(then)):
            cursor.execute(statement)

"""What a backup says about itself, first thing inside it."""

import json
from dataclasses import asdict, dataclass
from datetime import datetime

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from studio.backup.bag import BagRefused
from studio.backup.rows import kept_apps

FILE = "backup.json"
FORMAT, VERSION = "stillcount-backup", 1

Node = tuple[str, str]


@dataclass(frozen=True)
class Description:
    """When it was made, in which shape its rows are, and how many of each model there are.

    `migrations` are (app, name) pairs: all that had been applied. `rows` counts by model label.
    """

    made_at: datetime
    migrations: tuple[Node, ...]
    rows: dict[str, int]

    def to_bytes(self) -> bytes:
        whole = {"format": FORMAT, "version": VERSION} | asdict(self)
        return json.dumps(whole, indent=1, default=datetime.isoformat).encode()


def read_description(content: bytes) -> Description:
    """The description in a backup's first file. Raises BagRefused for a foreign or newer one."""
    try:
        whole = json.loads(content)
        if whole["format"] != FORMAT:
            raise BagRefused("This is no backup of Stillcount.")
        if whole["version"] > VERSION:
            raise BagRefused(
                f"This backup has format {whole['version']} and this Stillcount knows {VERSION}. "
                "Bring Stillcount up to date, then restore."
            )
        return Description(
            made_at=datetime.fromisoformat(whole["made_at"]),
            migrations=tuple((app, name) for app, name in whole["migrations"]),
            rows={str(label): int(count) for label, count in whole["rows"].items()},
        )
    except BagRefused:
        raise
    except Exception as error:  # whatever a made-up description brings us to
        raise BagRefused("This is no backup of Stillcount: it does not describe itself.") from error


def applied(connection: BaseDatabaseWrapper) -> tuple[Node, ...]:
    """The migrations of our own apps that a database has seen."""
    ours = kept_apps()
    seen = MigrationRecorder(connection).applied_migrations()
    return tuple(sorted(node for node in seen if node[0] in ours))


def known() -> set[Node]:
    """The migrations of our own apps that this Stillcount has."""
    ours = kept_apps()
    on_disk = MigrationLoader(None).disk_migrations
    return {node for node in on_disk if node[0] in ours}

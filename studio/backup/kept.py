"""The backups that are kept: where they lie, what the daily one does, which of them go."""

import hashlib
import os
import re
import shutil
import time
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from studio.backup.bag import BLOCK
from studio.backup.writing import Progress, Written, say_nothing, write_backup
from studio.errors import NotPossible
from studio.storage import WholeFiles
from studio.trade.rotation import to_keep

NAME = re.compile(r"stillcount-(\d{4}-\d\d-\d\d)(?:-(\d{6}))?\.tar")
SEALED_IN = 4 * BLOCK  # at its end: header and lines of the list of sums, two empty blocks
ROOM_TO_LEAVE = 500_000_000  # bytes: pictures and rows of the day must still fit


@dataclass(frozen=True)
class KeptBackup:
    """A backup in the folder. `made_at` is the studio's day, and the time if somebody asked."""

    path: Path
    made_at: datetime
    has_time: bool
    size: int  # bytes

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def storage(self) -> WholeFiles:
        """Where it is read from in parts."""
        return WholeFiles(self.path.parent)

    @property
    def seal(self) -> str:
        """The SHA-256 of its list of sums, of which every byte of it is under one: a sum of all of
        it would be read for minutes before each part of a download."""
        with self.path.open("rb") as file:
            file.seek(-min(SEALED_IN, self.size), os.SEEK_END)
            return hashlib.sha256(file.read()).hexdigest()


def new_name(now: datetime) -> str:
    """What a backup made at this moment is called."""
    return f"stillcount-{timezone.localtime(now):%Y-%m-%d-%H%M%S}.tar"


def kept_backups() -> list[KeptBackup]:
    """Every backup in the folder, the newest first. Half-made ones have other names."""
    found = []
    for path in settings.BACKUP_DIR.glob("stillcount-*.tar"):
        if parts := NAME.fullmatch(path.name):
            moment = datetime.fromisoformat(f"{parts[1]}T{parts[2] or '000000'}")
            found.append(KeptBackup(path, moment, bool(parts[2]), path.stat().st_size))
    return sorted(found, key=lambda one: (one.made_at, one.name), reverse=True)


def find_backup(name: str) -> KeptBackup | None:
    """The kept backup of that name."""
    return next((one for one in kept_backups() if one.name == name), None)


def daily_path(today: date) -> Path:
    """Where the daily backup of a day lies, once it was made."""
    return settings.BACKUP_DIR / f"stillcount-{today:%Y-%m-%d}.tar"


def daily_backup(today: date, progress: Progress = say_nothing) -> Written | None:
    """Make the day's backup and let go of those no longer worth their room; None where it is there.

    Raises NotPossible where there is no room.
    """
    target = daily_path(today)
    return None if target.exists() else _make(target, today, progress)


def backup_now(now: datetime, progress: Progress = say_nothing) -> Written:
    """Make a backup because somebody asked for one; it takes its turn in the rotating set."""
    return _make(settings.BACKUP_DIR / new_name(now), timezone.localtime(now).date(), progress)


def _make(target: Path, today: date, progress: Progress) -> Written:
    settings.BACKUP_DIR.mkdir(parents=True, exist_ok=True, mode=0o700)
    _sweep()
    _check_room()
    written = write_backup(target, timezone.now(), progress)
    let_go(today)
    return written


def let_go(today: date) -> list[str]:
    """Remove what the rotating set no longer keeps; returns the names."""
    kept = kept_backups()
    keep = to_keep([one.made_at for one in kept], today)
    gone = [one for one in kept if one.made_at not in keep]
    for one in gone:
        one.path.unlink(missing_ok=True)
    return [one.name for one in gone]


def _sweep() -> None:
    """Remove what a power cut left half-made; a day later nobody can be writing it any more."""
    yesterday = time.time() - timedelta(days=1).total_seconds()
    for path in settings.BACKUP_DIR.glob(".stillcount-*"):
        if path.stat().st_mtime < yesterday:
            path.unlink()


def _check_room() -> None:
    """A backup must not be what fills the disk."""
    kept = kept_backups()
    free = shutil.disk_usage(settings.BACKUP_DIR).free
    needed = (kept[0].size if kept else 0) + ROOM_TO_LEAVE
    if free < needed:
        raise NotPossible(
            f"There is no room for a backup: {needed / 1e6:,.0f} MB are wanted and "
            f"{free / 1e6:,.0f} MB are free in {settings.BACKUP_DIR}. Make room, or name a "
            "folder on another disk in STILLCOUNT_BACKUPS."
        )

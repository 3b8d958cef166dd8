"""The word on Today when the daily backups have stopped."""

from datetime import datetime, timedelta
from functools import cache

from django.db.migrations.recorder import MigrationRecorder
from django.urls import reverse

from studio.backup.kept import kept_backups
from studio.notices import Notice, source

# One missed day is a machine that was switched off; more is a disk that is full or a worker away.
STOPPED_AFTER = timedelta(days=3)


@source
def backups_have_stopped(request) -> list[Notice]:
    """Days without a backup; the owner's business only."""
    if not request.user.is_owner:
        return []
    kept = kept_backups()
    newest = kept[0].made_at.date() if kept else request.studio.today(_database_made_at())
    without = request.today - newest
    if without < STOPPED_AFTER:
        return []
    stands = f"The newest backup is {without.days} days old" if kept else "There is no backup yet"
    return [
        Notice(
            f"{stands}: look whether the disk is full or the work beside the site has stopped, "
            "and make one now.",
            reverse("studio:backups"),
            wrong=True,
        )
    ]


@cache
def _database_made_at() -> datetime:
    return MigrationRecorder.Migration.objects.earliest("applied").applied

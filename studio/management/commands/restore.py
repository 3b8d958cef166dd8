"""Put a backup back in the place of what is there."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from studio.backup.restoring import restore
from studio.errors import NotPossible


class Command(BaseCommand):
    help = (
        "Check a backup, then put it in the place of the database and the kept files. What was "
        "there is put aside. Stop the site first."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **options):
        try:
            restored = restore(file, timezone.now())
        except NotPossible as refusal:
            raise CommandError(refusal.sentence) from refusal
        self.stdout.write(
            f"Restored as of {restored.made_at:%d %B %Y, %H:%M} UTC: {restored.rows:,} rows and "
            f"{restored.files:,} files.\n{_before(restored.aside)}\nEverybody has to sign in again."
        )


def _before(aside: Path | None) -> str:
    return f"What was here before lies in {aside}" if aside else "There was nothing here before."

"""Write a backup: one file with the database and every kept file."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from studio.backup.kept import backup_now, new_name
from studio.backup.writing import write_backup
from studio.errors import NotPossible


class Command(BaseCommand):
    help = "Make one file of the database and the kept files; the site may go on running."

    def add_arguments(self, parser):
        parser.add_argument("--to", type=Path, help="the file to make, or the folder to make it in")

    def handle(self, *, to: Path | None, **options):
        now = timezone.now()
        try:
            if to is None:
                written = backup_now(now)
            else:
                written = write_backup(to / new_name(now) if to.is_dir() else to, now)
        except NotPossible as refusal:
            raise CommandError(refusal.sentence) from refusal
        self.stdout.write(f"{written.path}\n{written.sentence}")

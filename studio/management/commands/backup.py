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
        parser.add_argument("--to", help="the file to make, or the folder to make it in")

    def handle(self, *, to: str | None, **options):
        now = timezone.now()
        try:
            if to is None:
                written = backup_now(now)
            else:
                written = write_backup(place_of(to, new_name(now)), now)
        except NotPossible as refusal:
            raise CommandError(refusal.sentence) from refusal
        self.stdout.write(f"{written.path}\n{written.sentence}")


def place_of(to: str, name: str) -> Path:
    """The file to make. A folder that is not there may be a disk that was not put in."""
    place = Path(to)
    if place.is_dir():
        return place / name
    if to.endswith(("/", "\\")):
        raise CommandError(f"There is no folder {to}: put the disk in, or make the folder first.")
    return place

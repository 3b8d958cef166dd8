"""A filled studio to look around in, served on this machine, in a data folder of its own."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import timezone

from clients import demo_studio
from studio.management.commands.start import Command as StartCommand
from studio.models import Studio


class Command(StartCommand):
    help = "Fill a demo studio in its own folder and serve it (Ctrl+C stops it)."

    def add_arguments(self, parser):
        super().add_arguments(parser)
        parser.add_argument("--no-serve", action="store_true", help="fill only")

    def handle(self, *, no_serve: bool, **options):
        if Path(settings.DATA_DIR).name != "demo-data":
            raise CommandError(
                "The demo keeps to its own folder and never fills a real studio: "
                "run it as `manage.py demo`."
            )
        self.serves = not no_serve
        super().handle(**options)

    def fill(self) -> None:
        if not Studio.objects.exists():
            self.stdout.write("Filling the demo studio …")
            demo_studio.fill(demo_studio.today_there(timezone.now()))
        self.stdout.write(
            f"Sign in as {demo_studio.OWNER_SIGN_IN} (owner), password: "
            f"{demo_studio.OWNER_PASSWORD}\n"
            f"       or as {demo_studio.CREW_SIGN_IN} (crew), password: "
            f"{demo_studio.CREW_PASSWORD}"
        )

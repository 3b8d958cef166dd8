"""Open a real studio: database, one-time code, server."""

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.core.wsgi import get_wsgi_application
from waitress import serve

from studio import data_folder
from studio.models import Studio


class Command(BaseCommand):
    help = "Prepare the data folder and serve the studio (Ctrl+C stops it)."
    serves = True

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--threads", type=int, default=8, help="requests answered at once")

    def handle(self, *, host: str, port: int, threads: int, **options):
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        self.stdout.write(f"Data folder: {settings.DATA_DIR}")
        self.fill()
        if self.serves:
            self.stdout.write(f"Open http://{host}:{port}/ in a browser. Ctrl+C stops the server.")
            # Made only now: it looks once for the static files that were just collected.
            application = get_wsgi_application()
            serve(application, host=host, port=port, threads=threads, ident=None)

    def fill(self) -> None:
        """Prepare what the first visitor needs: a new studio's one-time code."""
        if not Studio.objects.exists():
            code = data_folder.first_run_code(settings.DATA_DIR)
            self.stdout.write(f"One-time code for the first page: {code}")

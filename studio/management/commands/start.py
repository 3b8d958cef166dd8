"""Open a real studio: database, one-time code, server."""

import logging
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.core.wsgi import get_wsgi_application
from waitress import serve

from studio import data_folder
from studio.backup.in_use import in_use
from studio.backup.restoring import settle
from studio.models import Studio

# Without this the server takes away what the proxy says, and every page leads to itself.
BEHIND_A_PROXY = {"trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}
SECONDS_TO_END = 30  # long work is put back at its next report
SECONDS_BETWEEN_LOOKS = 0.5
SECONDS_TO_RECOVER = 5  # what breaks off at once (a full disk) must not keep the machine busy

logger = logging.getLogger(__name__)


class Command(BaseCommand):
    help = "Prepare the data folder and serve the studio (Ctrl+C stops it)."
    serves = True

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--threads", type=int, default=8, help="requests answered at once")
        parser.add_argument(
            "--proxy",
            default="127.0.0.1",
            help="address of the HTTPS proxy in front, believed about who asks and how",
        )
        parser.add_argument(
            "--only-serve",
            action="store_true",
            help="prepare nothing and do no long work: for further servers beside a first one",
        )

    def handle(self, **options):
        with in_use(settings.DATA_DIR):
            self.open(**options)

    def open(
        self, *, host: str, port: int, threads: int, proxy: str, only_serve: bool, **options
    ) -> None:
        """Prepare the data folder and serve it until told to stop."""
        if not only_serve:
            self.prepare()
        if not self.serves:
            return
        # Made only now: it looks once for the static files that were just collected.
        application = get_wsgi_application()
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))  # ends as gently as Ctrl+C
        with nullcontext() if only_serve else long_work_beside():
            self.stdout.write(f"Open http://{host}:{port}/ in a browser. Ctrl+C stops the server.")
            behind = BEHIND_A_PROXY | {"trusted_proxy": proxy} if settings.HTTPS else {}
            serve(application, host=host, port=port, threads=threads, ident=None, **behind)

    def prepare(self) -> None:
        """Database and static files as this version needs them."""
        settle(settings.DATA_DIR)
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        self.stdout.write(f"Data folder: {settings.DATA_DIR}")
        self.fill()

    def fill(self) -> None:
        """Prepare what the first visitor needs: a new studio's one-time code."""
        if not Studio.objects.exists():
            code = data_folder.first_run_code(settings.DATA_DIR)
            self.stdout.write(f"One-time code for the first page: {code}")


@contextmanager
def long_work_beside() -> Iterator[None]:
    """A process for long work that lives as long as the server, so that pages stay quick."""
    end = threading.Event()
    keeper = threading.Thread(target=_keep_working, args=(end,), daemon=True)
    keeper.start()
    try:
        yield
    finally:
        end.set()
        keeper.join(timeout=SECONDS_TO_END)


def _keep_working(end: threading.Event) -> None:
    """Have a process for long work until the end; one that broke off is followed by another."""
    words = [settings.BASE_DIR / "manage.py", "work", "--until-ends", str(os.getpid())]
    while not end.is_set():
        worker = subprocess.Popen([sys.executable, *words])
        while worker.poll() is None and not end.wait(SECONDS_BETWEEN_LOOKS):
            pass
        if worker.poll() is None:
            worker.terminate()
            worker.wait()
        else:
            logger.error("Long work broke off (%s); it is begun anew.", worker.returncode)
            end.wait(SECONDS_TO_RECOVER)

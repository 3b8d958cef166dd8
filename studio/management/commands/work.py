"""Do the long work that pages asked for. `manage.py start` runs this beside the server."""

import os
import signal
import threading
from datetime import date, datetime

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker

from studio import long_work
from studio.backup.in_use import in_use
from studio.models import Studio

SECONDS_BETWEEN_LOOKS = 1.0


class Command(BaseCommand):
    help = "Do the long work that pages asked for, until told to stop (Ctrl+C)."

    def add_arguments(self, parser):
        parser.add_argument(
            "--until-ends",
            type=int,
            metavar="PID",
            help="end when this process, which began it, has ended (`start` passes its own)",
        )

    def handle(self, *, until_ends: int | None, **options):
        with in_use(settings.DATA_DIR):
            self.work(until_ends)

    def work(self, until_ends: int | None) -> None:
        """Take tasks until told to stop."""
        worker = Worker(
            queue_names=["*"],
            excluded_queue_names=[],
            interval=SECONDS_BETWEEN_LOOKS,
            batch=False,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=get_random_string(32),
        )
        end = threading.Event()
        for signum in (signal.SIGINT, signal.SIGTERM):
            signal.signal(signum, lambda *_: _close(worker))
        keeper = threading.Thread(target=_keep, args=(end, until_ends), daemon=True)
        keeper.start()
        try:
            worker.run()
        finally:
            end.set()
            keeper.join(timeout=10)


def _close(worker: Worker) -> None:
    """Take no more work, and put back what runs at its next report."""
    long_work.closing.set()
    worker.running = False


def _keep(end: threading.Event, parent: int | None) -> None:
    """Every few seconds: a sign of life, what was cut off, a new day; end with the parent."""
    seen_to = None
    while True:
        if parent is not None and os.getppid() != parent:
            os.kill(os.getpid(), signal.SIGTERM)
            return
        try:
            seen_to = _one_round(timezone.now(), seen_to)
        except Exception:
            # A database that is away for a moment: the next round comes in a few seconds.
            long_work.logger.exception("Looking after long work failed")
        finally:
            close_old_connections()
        if end.wait(long_work.SIGN_OF_LIFE.total_seconds()):
            return


def _one_round(now: datetime, seen_to: date | None) -> date | None:
    """Look after the queue once; returns the day whose duties have been seen to."""
    long_work.give_sign_of_life(now)
    long_work.begin_again_what_was_cut_off(now)
    long_work.queue_again_what_was_lost()
    studio = Studio.objects.first()
    today = studio.today(now) if studio else None
    if today != seen_to:
        call_command("prune_db_task_results", verbosity=0)
        call_command("clearsessions")
        long_work.see_to_daily_duties(today)
    return today

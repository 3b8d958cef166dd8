"""Runs `manage.py` commands in children of a process that has everything imported already.

`python -m tests.stops.nursery` prepares the data folder that STILLCOUNT_DATA names, prints what a
browser needs, then starts one command for each line of words (JSON) it reads and prints its process
id. Each child is a real command with a process group of its own, ready to be killed.
"""

import json
import os
import signal
import sys

import django

from studio import data_folder


def prepare() -> dict:
    """A studio with a running session, and somebody signed in."""
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connections
    from django.test import Client
    from django.utils import timezone

    from shots.services.sessions import start_session
    from studio.models import Person
    from tests import factories

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    factories.StudioFactory(timezone="UTC")
    owner = factories.PersonFactory(name="Ida Morrow", sign_in_name="ida", role=Person.Role.OWNER)
    shot = factories.ShotFactory(production__code="FELT", code="A010", screen_frames=4000)
    factories.ShotFactory(production=shot.production, code="B010", screen_frames=4000)
    session = start_session(shot.production, None, [owner], [], owner, timezone.now())
    browser = Client()
    browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    cookie = browser.cookies[settings.SESSION_COOKIE_NAME].value
    connections.close_all()
    return {
        "cookie": cookie, "shot": shot.pk, "session": session.pk, "difficulty": shot.difficulty_id,
    }  # fmt: skip


def bring_up(words: list[str]) -> int:
    """Fork a child that runs a command; returns its process id, which is its group's too."""
    child = os.fork()
    if child:
        os.setpgid(child, child)
        return child
    log = os.open(os.environ["STILLCOUNT_LOG"], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    os.dup2(log, 1)
    os.dup2(log, 2)
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    try:
        from django.core.management import execute_from_command_line

        execute_from_command_line(["manage.py", *words])
    finally:
        os._exit(0)


def main() -> None:
    data_folder.prepare(data_folder.location())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    django.setup()
    print(json.dumps(prepare()), flush=True)  # noqa: T201  read by the test
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the killed leave nothing behind
    for line in sys.stdin:
        print(bring_up(json.loads(line)), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()

"""Run the whole test suite with pytest, on both cores, on SQLite or what DATABASE_URL names."""

import subprocess
import sys

from django.conf import settings
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Run the tests; further words go to pytest, as `manage.py test -- -k shots`."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("words", nargs="*", help="words for pytest")

    def handle(self, *, words: list[str], **options):
        command = [sys.executable, "-m", "pytest", "-n", "auto", "--dist", "loadfile", *words]
        sys.exit(subprocess.run(command, cwd=settings.BASE_DIR, check=False).returncode)

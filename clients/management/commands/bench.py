"""Figures, measured on this machine. Nothing here is a test: tests never judge time."""

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    help = "Measure the forecast on simulated productions (--forecast)."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("--forecast", action="store_true", help="coverage, scores and time")
        parser.add_argument("--productions", type=int, default=180, help="productions to simulate")
        parser.add_argument("--seed", type=int, default=1, help="the same seed, the same table")

    def handle(self, *, forecast: bool, productions: int, seed: int, **options):
        if not forecast:
            raise CommandError("Say what to measure: --forecast.", returncode=2)
        if productions < 1:
            raise CommandError(f"--productions is {productions}: give 1 or more.", returncode=2)
        # The simulator lives with the tests; it is read only when asked for.
        from tests.simulator.measure import as_text, table

        self.stdout.write(as_text(table(productions, seed)))

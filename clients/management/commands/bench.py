"""Figures, measured on this machine. Nothing here is a test: tests never judge time."""

import json
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction
from django.test import Client, override_settings
from django.utils import timezone

from clients import benchmarks as desk
from clients import load, ten_years
from clients.demo_studio import fill, today_there
from shots import benchmarks as floor
from studio import benchmarks as house
from studio.models import Person

ROWS = house.ROWS | floor.ROWS | desk.ROWS


class Command(BaseCommand):
    help = (
        "Measure pages and calculations on the demo studio, in a database of the bench's own; "
        "with --forecast the forecast on simulated productions."
    )
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("names", nargs="*", help="words of the rows to measure; none is all")
        parser.add_argument("--json", action="store_true", dest="as_json", help="print JSON")
        parser.add_argument("--forecast", action="store_true", help="coverage, scores and time")
        parser.add_argument(
            "--ten-years",
            type=float,
            nargs="?",
            const=1.0,
            metavar="SHARE",
            help="every page with ten years of work, and with a tenth of it; 0.1 for a short try",
        )
        parser.add_argument(
            "--seconds", type=float, default=60, help="how long eight writers write at once"
        )
        parser.add_argument("--productions", type=int, default=180, help="productions to simulate")
        parser.add_argument("--seed", type=int, default=1, help="the same seed, the same table")

    def handle(self, *, names, as_json, forecast, ten_years, seconds, productions, seed, **options):
        if forecast:
            self.stdout.write(_forecast_table(productions, seed))
            return
        if ten_years:
            self.stdout.write(_years_table(ten_years, seconds, say=self.stderr.write))
            return
        measured = _measure(rows_named(names))
        self.stdout.write(json.dumps(measured, indent=2) if as_json else _table(measured))


def _forecast_table(productions: int, seed: int) -> str:
    if productions < 1:
        raise CommandError(f"--productions is {productions}: give 1 or more.", returncode=2)
    # The simulator lives with the tests; it is read only when asked for.
    from tests.simulator.measure import as_text, table

    return as_text(table(productions, seed))


def _years_table(share: float, seconds: float, say: Callable[[str], None]) -> str:
    """Pages with a tenth of ten years' work and with all of it, then eight writers at once."""
    if not 0.05 <= share <= 5 or not 1 <= seconds <= 3600:
        raise CommandError("Give a share from 0.05 to 5 and 1 to 3600 seconds.", returncode=2)
    films = round(ten_years.PRODUCTIONS * share)
    with _filled_studio() as bench:
        ten_years.fill_running(bench.studio, bench.today)
        ten_years.fill_delivered(bench.studio, bench.today, range(films // 10))
        tenth = load.visit_pages(bench.browser)
        say("A tenth is measured; filling the rest …")
        ten_years.fill_delivered(bench.studio, bench.today, range(films // 10, films))
        whole = load.visit_pages(bench.browser)
        say("All of it is measured; eight writers begin …")
        written = load.write_at_once(bench.folder, seconds)
    return load.as_text(tenth, whole, written)


def rows_named(words: list[str]) -> dict[str, house.Row]:
    """The rows with any of the words in their name, after the empty page all are held against."""
    named = {
        name: row
        for name, row in ROWS.items()
        if not words or any(word.casefold() in name.casefold() for word in words)
    }
    if not named:
        raise CommandError(
            f"No row has “{' or '.join(words)}” in its name. There are: {'; '.join(ROWS)}.",
            returncode=2,
        )
    return {house.EMPTY_PAGE: ROWS[house.EMPTY_PAGE]} | named


def _measure(rows: dict[str, house.Row]) -> list[dict]:
    """Each row as name, value, unit, aim, and for times the multiple of an empty page."""
    with _filled_studio() as bench:
        figures = {name: _figure(row, bench) for name, row in rows.items()}
    empty = figures[house.EMPTY_PAGE].value
    return [
        {
            "name": name,
            "value": round(figure.value, 2),
            "unit": figure.unit,
            "aim": figure.aim,
            "empty_pages": round(figure.value / empty, 1) if figure.unit == "ms" else None,
        }
        for name, figure in figures.items()
    ]


def _figure(row: house.Row, bench: house.Bench) -> house.Figure:
    """What a row measures; what it wrote is gone afterwards."""
    with transaction.atomic():
        figure = row(bench)
        transaction.set_rollback(True)
    return figure


@contextmanager
def _filled_studio() -> Iterator[house.Bench]:
    """The demo studio in a new database, and its owner's browser."""
    with tempfile.TemporaryDirectory() as folder, _own_place(Path(folder)):
        today = today_there(timezone.now())
        studio = fill(today)
        # The server answers only to its own name.
        browser = Client(SERVER_NAME="localhost")
        browser.force_login(
            Person.objects.get(role=Person.Role.OWNER), settings.AUTHENTICATION_BACKENDS[-1]
        )
        yield house.Bench(studio, today, browser, Path(folder))


@contextmanager
def _own_place(folder: Path) -> Iterator[None]:
    """A new database and file store, so that no studio's own data or bucket is touched."""
    name = connection.settings_dict["NAME"]
    sqlite = connection.vendor == "sqlite"
    connection.settings_dict["TEST"]["NAME"] = (
        str(folder / "stillcount.sqlite3") if sqlite else "stillcount_bench"
    )
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(
        DATA_DIR=folder,
        MEDIA_ROOT=folder / "files",
        STATIC_ROOT=folder,
        STORAGES={"default": {"BACKEND": "studio.storage.WholeFiles"}, "staticfiles": plain},
    ):
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            yield
        finally:
            connection.creation.destroy_test_db(name, verbosity=0)


def _table(measured: list[dict]) -> str:
    widest = max(len(row["name"]) for row in measured)
    lines = [f"{'what':{widest}}  {'figure':>9}        × empty page  aim"]
    for row in measured:
        ratio = "" if row["empty_pages"] is None else f"{row['empty_pages']:.1f}"
        lines.append(
            f"{row['name']:{widest}}  {row['value']:9.1f} {row['unit']:6} {ratio:>12}  {row['aim']}"
        )
    return "\n".join(lines)

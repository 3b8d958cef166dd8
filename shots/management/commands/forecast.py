"""Days left for a history in a file (no database is read), or for a production of the studio."""

import json
from dataclasses import dataclass
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shots.trade.forecast import (
    Answer,
    History,
    HistoryError,
    answer_to_json,
    forecast,
    history_from_json,
)
from shots.trade.forecast.sentences import basis, sentence
from shots.trade.forecast_record import Correction

METHOD = "pace learnt day by day, work left and days to come simulated"


class Command(BaseCommand):
    help = "Working days left, with odds: for a history (or many) in a file, or for a production."
    requires_system_checks = ()

    def add_arguments(self, parser):
        source = parser.add_mutually_exclusive_group(required=True)
        source.add_argument(
            "file", type=Path, nargs="?", help='a history, or {"cases": {name: history}}'
        )
        source.add_argument("--production", metavar="CODE", help="a production of this studio")
        parser.add_argument("--json", action="store_true", help="the whole answer, as JSON")
        parser.add_argument("--seed", type=int, default=0, help="the same seed, the same answer")

    def handle(self, *args, file: Path | None, production: str | None, seed: int, **options):
        if seed < 0:
            raise CommandError(f"--seed must be 0 or more, got {seed}", returncode=2)
        try:
            cases = read(file) if file else read_production(production)
        except ForecastError as error:
            raise CommandError(str(error), returncode=2) from error
        if options["json"]:
            self.stdout.write(json.dumps(to_json(cases, seed), allow_nan=False))
        else:
            self.stdout.write("\n".join(to_lines(cases, seed)))
        if cases.refused:
            lines = (f"{name}: {why}" for name, why in cases.refused.items())
            raise CommandError("\n".join(lines), returncode=2)


class ForecastError(Exception):
    """A file that cannot be forecast; the message says what is wrong and where."""


@dataclass(frozen=True)
class Cases:
    """Histories of a file by name, and why others were refused. `single`: the file is one.

    `correction` is from the studio's record, for a production of its own.
    """

    histories: dict[str, History]
    refused: dict[str, str]
    single: bool = False
    correction: Correction | None = None


def run(path: Path, seed: int = 0) -> dict:
    """The JSON answer to a file. Raises ForecastError for a file that cannot be read."""
    return to_json(read(path), seed)


def read(path: Path) -> Cases:
    """Histories in a file of one, or of many cases, each read on its own.

    Raises ForecastError for a file that cannot be read, or whose only history cannot.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ForecastError(f"{path} cannot be read: {error.strerror}") from error
    except ValueError as error:
        raise ForecastError(f"{path} is not JSON: {error}") from error
    if not (isinstance(data, dict) and "cases" in data):
        try:
            return Cases({path.stem: history_from_json(data)}, {}, single=True)
        except HistoryError as error:
            raise ForecastError(f"{path}: {error}") from error
    if not isinstance(data["cases"], dict):
        raise ForecastError(f"{path}: cases: must be an object of histories by name")
    histories, refused = {}, {}
    for name, case in data["cases"].items():
        try:
            histories[name] = history_from_json(case)
        except HistoryError as error:
            refused[name] = str(error)
    return Cases(histories, refused)


def read_production(code: str) -> Cases:
    """The history of a production as it stands this evening. Raises ForecastError for no such."""
    # Only here: a file is forecast without a database.
    from shots.models import Production
    from shots.queries.history import histories
    from shots.queries.record import correction
    from studio.models import Studio

    production = Production.objects.current().filter(code__iexact=code).first()
    if production is None:
        raise ForecastError(f"No production has the code {code}: look under Productions.")
    studio = Studio.objects.get()
    history = histories([production], studio, studio.today(timezone.now()))[production.pk]
    return Cases({production.code: history}, {}, single=True, correction=correction(studio))


def to_json(cases: Cases, seed: int) -> dict:
    """One answer, or all of them by name with the method; a refused case says its error."""
    answers = {
        name: answer_to_json(forecast(history, seed=seed, correction=cases.correction))
        for name, history in cases.histories.items()
    }
    if cases.single:
        return next(iter(answers.values()))
    errors = {name: {"error": why} for name, why in cases.refused.items()}
    return {"method": METHOD, "forecasts": answers | errors}


def to_lines(cases: Cases, seed: int) -> list[str]:
    """The same in words."""
    lines = []
    for name, history in cases.histories.items():
        if not cases.single:
            lines.append(f"{name}:")
        answer: Answer = forecast(history, seed=seed, correction=cases.correction)
        lines += [sentence(answer, history), basis(history)]
        if answer.chance_of_deadline is not None:
            lines.append(f"Ready by the deadline: {answer.chance_of_deadline:.0%}.")
        lines += answer.notes
    return lines

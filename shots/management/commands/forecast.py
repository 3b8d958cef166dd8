"""Days left for a history in a file; no database is read."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shots.trade.forecast import History, HistoryError, answer_to_json, forecast, history_from_json
from shots.trade.forecast.sentences import basis, sentence

METHOD = "pace learnt day by day, work left and days simulated"


class Command(BaseCommand):
    help = "Working days left, with odds, for a history (or many cases of them) in a JSON file."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help='a history, or {"cases": {name: history}}')
        parser.add_argument("--json", action="store_true", help="the whole answer, as JSON")
        parser.add_argument("--seed", type=int, default=0, help="the same seed, the same answer")

    def handle(self, *args, file: Path, seed: int, json: bool, **options):
        try:
            answer = run(file, seed)
        except ForecastError as error:
            raise CommandError(str(error), returncode=2) from error
        self.stdout.write(as_json(answer) if json else in_words(answer))
        refused = [
            f"{name}: {one['error']}"
            for name, one in answer.get("forecasts", {}).items()
            if "error" in one
        ]
        if refused:
            raise CommandError("\n".join(refused), returncode=2)


class ForecastError(Exception):
    """A file that cannot be forecast; the message says what is wrong and where."""


def run(path: Path, seed: int = 0) -> dict:
    """The answer to a file of one history; to a file of many cases, all answers by name.

    Each case is answered on its own: one that cannot be read gets `{"error": sentence}`.
    Raises ForecastError for a file that cannot be read, or for its only history.
    """
    if seed < 0:
        raise ForecastError(f"--seed must be 0 or more, got {seed}")
    data = _read(path)
    if not (isinstance(data, dict) and "cases" in data):
        try:
            return answer_to_json(forecast(history_from_json(data), seed=seed))
        except HistoryError as error:
            raise ForecastError(f"{path}: {error}") from error
    if not isinstance(data["cases"], dict):
        raise ForecastError(f"{path}: cases: must be an object of histories by name")
    answers = {name: _one_of_many(case, seed) for name, case in data["cases"].items()}
    return {"method": METHOD, "forecasts": answers}

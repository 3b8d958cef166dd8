"""Price an option from a file, without a database."""

import json
import sys

from django.core.management.base import BaseCommand, CommandError

from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.price_file import price_from_json


class Command(BaseCommand):
    help = "Price an option from a JSON file, without a database."
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser):
        parser.add_argument("file", help="the option as JSON, or - for standard input")
        parser.add_argument("--json", action="store_true", help="answer in JSON")

    def handle(self, *args, file, **options):
        try:
            with sys.stdin if file == "-" else open(file, encoding="utf-8") as source:
                answer = price_from_json(json.load(source))
        except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
            raise CommandError(f"{file} cannot be read: {error}", returncode=2) from error
        except QuoteError as error:
            raise CommandError(f"{error.field}: {error.sentence}", returncode=2) from error
        if options["json"]:
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
        else:
            self.stdout.write(_in_words(answer))


def _in_words(answer: dict) -> str:
    currency = answer["currency"]
    days = ", ".join(f"{days} at {float(chance):.0%}" for chance, days in answer["days"].items())
    rows = [
        f"{answer['label']}: {answer['frames']} frames, {answer['pictures']} pictures, "
        f"set-ups: {answer['setups']}",
        f"days of shooting: {days}",
        "",
    ]
    for line in answer["lines"]:
        note = " (optional, not in the total)" if line["optional"] else ""
        rows.append(f"{line['amount']:>14} {currency}  {line['label']}{note}")
    rows.append(f"{answer['net']:>14} {currency}  before tax")
    for part in answer["taxes"]:
        rows.append(f"{part['tax']:>14} {currency}  tax, {part['rate']} % of {part['base']}")
    rows.append(f"{answer['gross']:>14} {currency}  total")
    return "\n".join(rows)

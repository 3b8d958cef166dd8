"""``manage.py verify FILE --spec SPEC.json``: a finished film against a specification."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from clients.reading.check import check_file
from clients.reading.film import FileRefused
from clients.trade.checks.result import FileReport
from clients.trade.specification import Specification, SpecificationRefused, from_json

DOES_NOT_FIT = 1
COULD_NOT_BE_DONE = 2
LARGEST_SPECIFICATION = 1_000_000
"""bytes"""


class Command(BaseCommand):
    help = (
        "Checks a finished film against a specification, without a database. "
        "Exit status: 0 it fits, 1 it does not, 2 the check could not be done."
    )
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser):
        parser.add_argument("file", help="the film")
        parser.add_argument("--spec", required=True, help="the specification, a JSON file")
        parser.add_argument("--captions", help="the captions file, when not beside the film")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args, **options):
        captions = Path(options["captions"]) if options["captions"] else None
        try:
            specification = read_specification(Path(options["spec"]))
            report = check_file(Path(options["file"]), specification, captions=captions)
        except (FileRefused, SpecificationRefused) as fault:
            if options["json"]:
                self.stdout.write(json.dumps({"file": options["file"], "error": str(fault)}))
            raise CommandError(str(fault), returncode=COULD_NOT_BE_DONE) from None
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), ensure_ascii=False, allow_nan=False))
        else:
            self.stdout.write(in_words(report))
        if not report.fits:
            raise SystemExit(DOES_NOT_FIT)


def read_specification(path: Path) -> Specification:
    """Raises SpecificationRefused when the file cannot be read or is not a specification."""
    try:
        with path.open("rb") as file:
            text = file.read(LARGEST_SPECIFICATION + 1)
        if len(text) > LARGEST_SPECIFICATION:
            raise SpecificationRefused("The specification file is too large.")
        return from_json(json.loads(text))
    except OSError as fault:
        raise SpecificationRefused(f"The specification cannot be read: {fault.strerror}.") from None
    except (UnicodeDecodeError, RecursionError):
        raise SpecificationRefused("The specification is not JSON text in UTF-8.") from None
    except json.JSONDecodeError as fault:
        raise SpecificationRefused(
            f"The specification is not JSON: {fault.msg} in line {fault.lineno}."
        ) from None


def in_words(report: FileReport) -> str:
    """The report for reading, one line for each check."""
    lines = [report.file, f"SHA-256 {report.sha256}"]
    for result in report.results:
        mark = "fits" if result.fits else "DOES NOT FIT"
        lines.append(f"{result.check}: {mark}; wanted {result.wanted}, found {result.found}")
        if result.advice:
            lines.append(f"    {result.advice}")
    lines.append("The file fits." if report.fits else "The file does not fit.")
    return "\n".join(lines)

"""``manage.py verify FILE --spec SPEC.json``: a finished film against a specification."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from clients.queries.deliverables import film_behind
from clients.reading.check import check_file, sha256
from clients.reading.film import FileRefused
from clients.trade.checks.result import FileReport
from clients.trade.specification import (
    LARGEST_TEXT,
    FilmBehind,
    Specification,
    SpecificationRefused,
    filled_from,
    from_text,
)
from shots.models import Production

DOES_NOT_FIT = 1
COULD_NOT_BE_DONE = 2


class Command(BaseCommand):
    help = (
        "Checks a finished film against a specification; only --production needs a database. "
        "Exit status: 0 it fits, 1 it does not, 2 the check could not be done."
    )
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser):
        parser.add_argument("file", help="the film")
        parser.add_argument("--spec", required=True, help="the specification, a JSON file")
        parser.add_argument("--captions", help="the captions file, when not beside the film")
        parser.add_argument(
            "--production",
            metavar="CODE",
            help="fill in rate, length and cadence from this production of the studio",
        )
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args, **options):
        captions = Path(options["captions"]) if options["captions"] else None
        try:
            specification = read_specification(Path(options["spec"]))
            if options["production"]:
                specification = filled_from(specification, find_film(options["production"]))
            report = check_file(Path(options["file"]), specification, captions=captions)
        except (FileRefused, SpecificationRefused) as fault:
            if options["json"]:
                self.stdout.write(json.dumps(refusal(options["file"], fault), ensure_ascii=False))
            raise CommandError(str(fault), returncode=COULD_NOT_BE_DONE) from None
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), ensure_ascii=False, allow_nan=False))
        else:
            self.stdout.write(in_words(report))
        if not report.fits:
            raise SystemExit(DOES_NOT_FIT)


def refusal(file: str, fault: FileRefused | SpecificationRefused) -> dict:
    """A report with no results but the reason; without a specification nothing is known to fit."""
    if isinstance(fault, SpecificationRefused):
        return {"file": file, "error": str(fault)}
    try:
        digest = sha256(Path(file)) if Path(file).is_file() else None
    except (FileRefused, OSError):
        digest = None
    return {"file": file, "sha256": digest, "fits": False, "checks": [], "error": str(fault)}


def read_specification(path: Path) -> Specification:
    """Raises SpecificationRefused when the file cannot be read or is not a specification."""
    try:
        with path.open("rb") as file:
            return from_text(file.read(LARGEST_TEXT + 1))
    except OSError as fault:
        raise SpecificationRefused(f"The specification cannot be read: {fault.strerror}.") from None


def find_film(code: str) -> FilmBehind:
    """The studio's production of that code. Raises SpecificationRefused where there is none."""
    try:
        film = Production.objects.current().filter(code__iexact=code).first()
    except DatabaseError:
        raise SpecificationRefused("The studio's database cannot be read: start it once.") from None
    if film is None:
        raise SpecificationRefused(f"No production has the code {code}: look under Productions.")
    return film_behind(film)


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

"""Judge a folder of pictures without touching the database."""

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, OutputWrapper

from shots.measuring import on_all_cores
from shots.reading import PictureError, read_picture
from shots.trade.picture_record import printable
from shots.trade.pictures import (
    Declared,
    Measure,
    Report,
    flag_in_words,
    judge,
    measure,
    natural_key,
)

FINE, LOOK, NOT_DONE = 0, 1, 2
IGNORED = {"thumbs.db", "desktop.ini"}  # what operating systems leave in folders
BAR = 30


@dataclass(frozen=True)
class Inspection:
    """A folder judged: the report, and one sentence for each file that could not be read."""

    report: Report
    errors: list[str]

    @property
    def status(self) -> int:
        """Exit status: 0 fine, 1 something to look at, 2 could not be done."""
        if not self.report.frames:
            return NOT_DONE
        return LOOK if self.report.flagged or self.errors else FINE

    def to_json(self) -> dict:
        return {**self.report.to_json(), "unreadable": self.errors}


def inspect_folder(
    folder: Path,
    declared: Declared | None = None,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Inspection:
    """Read, measure and judge every file of a folder, in natural number order.

    Raises PictureError when the folder cannot be listed or holds no files.
    """
    files = list_files(folder)
    outcomes = _counted(on_all_cores(measure_file, files), len(files), progress)
    measures, errors, unread = _sorted_out(files, outcomes)
    return Inspection(judge(measures, declared, unread=unread), errors)


def list_files(folder: Path) -> list[Path]:
    """The files in a folder that may be pictures, in natural number order.

    Hidden files and what operating systems leave behind are passed over; any other file is tried,
    so that a wrong one is named rather than missed."""
    try:
        found = [
            path
            for path in folder.iterdir()
            if path.is_file() and path.name[0] != "." and path.name.casefold() not in IGNORED
        ]
    except OSError as error:
        raise PictureError(f"{folder} cannot be opened as a folder: {error.strerror}.") from error
    if not found:
        raise PictureError(f"{folder} holds no files: give a folder of JPEG or PNG pictures.")
    return sorted(found, key=lambda path: natural_key(path.name))


def measure_file(path: Path) -> Measure | str:
    """The measure of one file, or a sentence on why there is none."""
    try:
        reading = read_picture(path)
    except PictureError as error:
        return str(error)
    return measure(reading.pixels, reading.facts)


def _counted(outcomes, of: int, progress: Callable[[int, int], None]):
    for done, outcome in enumerate(outcomes, 1):
        progress(done, of)
        yield outcome


def _sorted_out(files: list[Path], outcomes) -> tuple[list[Measure], list[str], list[str]]:
    """The measures, the sentences of what could not be read, and its names."""
    measures, errors, unread = [], [], []
    for file, outcome in zip(files, outcomes, strict=True):
        if isinstance(outcome, Measure):
            measures.append(outcome)
        else:
            errors.append(outcome)
            unread.append(file.name)
    return measures, errors, unread


class Command(BaseCommand):
    help = (
        "Judge a folder of stills: light, colour, camera, focus, hands left in, doubles, missing "
        "numbers, settings, session. No database. Exit status 0 fine, 1 something to look at, "
        "2 could not be done."
    )
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path)
        parser.add_argument("--json", action="store_true", help="print the whole report as JSON")
        parser.add_argument(
            "--camera-move", action="store_true", help="the camera is meant to move"
        )
        parser.add_argument(
            "--light-change", action="store_true", help="the light is meant to change"
        )

    def handle(self, *args, folder, camera_move, light_change, **options):
        try:
            found = inspect_folder(
                folder, Declared(camera_move, light_change), progress=progress_bar(self.stderr)
            )
        except PictureError as error:
            raise CommandError(str(error), returncode=NOT_DONE) from error
        for sentence in found.errors:
            self.stderr.write(printable(sentence))
        if options["json"]:
            self.stdout.write(json.dumps(found.to_json(), allow_nan=False))
        else:
            for sentence in sentences(found.report):
                self.stdout.write(printable(sentence))
        if found.status:
            sys.exit(found.status)


def progress_bar(stderr: OutputWrapper) -> Callable[[int, int], None]:
    """Draws how many are done, on a terminal only; plain, since Django writes errors in red."""

    def draw(done: int, of: int) -> None:
        bar = "█" * (BAR * done // of)
        ending = "\n" if done == of else ""
        stderr.write(f"\r{bar:░<{BAR}} {done} of {of}", style_func=str, ending=ending)

    return draw if stderr.isatty() else lambda done, of: None


def sentences(report: Report) -> list[str]:
    """The report in words, one line a flag."""
    lines = [
        f"{frame.file}: {flag_in_words(flag)}" for frame in report.frames for flag in frame.flags
    ]
    if report.missing:
        lines.append("Missing numbers: " + ", ".join(map(str, report.missing)))
    if report.session:
        s = report.session
        pace = f", {s['per_hour']} an hour" if s["per_hour"] else ""
        lines.append(
            f"{s['pictures']} pictures from {s['start']} to {s['end']}, "
            f"{len(s['breaks'])} breaks{pace}"
        )
    lines.append("Something to look at." if report.flagged else "Nothing flagged.")
    return lines

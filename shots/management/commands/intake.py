"""Take a folder of pictures into the database, and log the session they were taken in."""

import json
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError
from django.utils import timezone

from shots.management.commands.inspect import LOOK, NOT_DONE, list_files, progress_bar
from shots.measuring import Prepared, file_hash, prepare_files, read_again
from shots.models import Picture, Production, Session, Shot
from shots.queries.picture_log import LogPlan, log_plan, plan_into
from shots.reading import PictureError
from shots.services.picture_intake import take_in
from shots.services.picture_judging import judge_arrival, judge_shot
from shots.services.picture_log import log_pictures
from shots.trade.picture_record import printable
from shots.trade.pictures import flag_in_words
from studio.backup.in_use import in_use
from studio.errors import NotPossible
from studio.models import Studio

POLL = 1.0  # seconds between two looks at a watched folder


@dataclass
class ShotIntake:
    """What became of one folder."""

    shot: Shot
    folder: Path
    new: list[Picture] = field(default_factory=list)
    known: int = 0
    refused: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def flagged(self) -> list[tuple[str, str]]:
        """File and words of every flag on a new picture."""
        return [
            (picture.name, flag_in_words(flag))
            for picture in Picture.objects.slim().filter(pk__in=[one.pk for one in self.new])
            for flag in picture.flags
        ]

    def has_faults(self) -> bool:
        """Whether a new picture has a fault, or a file could not be read."""
        ids = [one.pk for one in self.new]
        return bool(self.refused) or Picture.objects.filter(pk__in=ids, is_flagged=True).exists()


class Command(BaseCommand):
    help = (
        "Take pictures in and log the session. FOLDER holds the pictures of --shot, or folders "
        "named by shot code. Running it again adds only what is new. Exit status 0 fine, "
        "1 something to look at, 2 could not be done."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path)
        parser.add_argument("--shot", help="code of the shot; without it, folders name the shots")
        parser.add_argument("--production", help="its code, where more than one is running")
        parser.add_argument("--session", type=int, help="log into this session, whatever the times")
        parser.add_argument("--yes", action="store_true", help="log without asking")
        parser.add_argument("--watch", action="store_true", help="keep looking, until Ctrl-C")
        parser.add_argument("--json", action="store_true", help="print what was done as JSON")

    def handle(self, *args, folder, shot, production, session, **options):
        studio = Studio.objects.first()
        if studio is None:
            raise CommandError(
                "There is no studio yet: open it in the browser.", returncode=NOT_DONE
            )
        with in_use(settings.DATA_DIR), timezone.override(studio.zone):
            try:
                film = find_production(production)
                into = find_session(film, session)
                intakes, said = folders_of(film, folder, shot)
                if options["watch"]:
                    self._watch(intakes)
                else:
                    for intake in intakes:
                        self._take_in(intake)
                planned, logged = self._log(film, into, intakes, options)
            except (NotPossible, PictureError) as refusal:
                raise CommandError(str(refusal), returncode=NOT_DONE) from refusal
            except OperationalError as error:
                raise CommandError(
                    f"The database could not be written: {error}. Make room, then run it again: "
                    "pictures that are in already are known.",
                    returncode=NOT_DONE,
                ) from error
            self._report(intakes, said, planned, logged, options["json"])
        if said or any(intake.has_faults() for intake in intakes):
            sys.exit(LOOK)

    def _take_in(self, intake: ShotIntake) -> None:
        take_in_folder(intake, list_files(intake.folder), progress_bar(self.stderr))
        if intake.shot.pictures.kept().filter(judged_at=None).exists():
            judge_shot(intake.shot, timezone.now())

    def _watch(self, intakes: list[ShotIntake]) -> None:
        self.stderr.write("Watching. Press Ctrl-C when the session is over.", style_func=str)
        watch(intakes, self._say_arrival, self._say_wrong, time.sleep)
        for intake in intakes:
            judge_shot(intake.shot, timezone.now())

    def _say_arrival(self, intake: ShotIntake, name: str) -> None:
        self.stderr.write(f"{intake.shot.code}  {name}", style_func=str)

    def _say_wrong(self, intake: ShotIntake, sentence: str) -> None:
        self.stderr.write(f"{intake.shot.code}  {sentence}")

    def _log(self, film, into, intakes, options) -> tuple[LogPlan, bool]:
        now = timezone.now()
        plan = plan_into(into, now) if into else log_plan(film, now)
        if not plan.sessions:
            return plan, False
        if not options["yes"]:
            if options["json"] or not sys.stdin.isatty():
                return plan, False
            for line in plan_in_words(plan):
                self.stdout.write(line)
            if input("Write this? [y/N] ").strip().lower() not in {"y", "yes"}:
                return plan, False
        return log_pictures(film, plan.pictures, [], now, into), True

    def _report(self, intakes, said, plan, logged, as_json) -> None:
        if as_json:
            document = to_json(intakes, said, plan, logged)
            self.stdout.write(json.dumps(document, allow_nan=False))
            return
        for sentence in said:
            self.stderr.write(sentence)
        for intake in intakes:
            for sentence in [*intake.refused, *intake.said]:
                self.stderr.write(sentence)
            for name, words in intake.flagged():
                self.stdout.write(f"{name}: {words}")
            self.stdout.write(
                f"{intake.shot.code}: {len(intake.new)} new, {intake.known} in already, "
                f"{len(intake.refused)} could not be used."
            )
        for line in plan_in_words(plan):
            self.stdout.write(line)
        if plan.sessions:
            self.stdout.write("Logged." if logged else "Not logged: add --yes to log.")


def find_production(code: str | None) -> Production:
    """The production of that code, or the only one that is running."""
    if code:
        found = Production.objects.current().filter(code__iexact=code).first()
        if found is None:
            raise NotPossible(f"There is no production “{code}”.")
        return found
    running = list(Production.objects.running())
    if len(running) == 1:
        return running[0]
    codes = ", ".join(production.code for production in running) or "none"
    raise NotPossible(f"Say which production with --production. Running: {codes}.")


def find_session(production: Production, pk: int | None) -> Session | None:
    """The session to log into; None where capture times decide."""
    if pk is None:
        return None
    found = Session.objects.current().filter(production=production, pk=pk).first()
    if found is None:
        raise NotPossible(f"There is no session {pk} in {production.code}.")
    return found


def folders_of(
    production: Production, folder: Path, code: str | None
) -> tuple[list[ShotIntake], list[str]]:
    """The shots to take in with their folders, and a sentence for each folder without a shot."""
    if not folder.is_dir():
        raise NotPossible(f"{folder} is not a folder.")
    shots = {
        shot.code.casefold(): shot
        for shot in Shot.objects.in_film()
        .filter(production=production)
        .select_related("production", "setup")
    }
    if code:
        if code.casefold() not in shots:
            raise NotPossible(f"There is no shot “{code}” in {production.code}.")
        return [ShotIntake(shots[code.casefold()], folder)], []
    inside = sorted(path for path in folder.iterdir() if path.is_dir() and path.name[0] != ".")
    found = [
        ShotIntake(shots[path.name.casefold()], path)
        for path in inside
        if path.name.casefold() in shots
    ]
    said = [
        f"{printable(path.name)}: no shot of {production.code} has that code, so its folder was "
        "left alone."
        for path in inside
        if path.name.casefold() not in shots
    ]
    if not found:
        raise NotPossible(
            f"No folder in {folder} is named by a shot of {production.code}: name the shot with "
            "--shot, or the folders by shot codes."
        )
    return found, said


def take_in_folder(
    intake: ShotIntake,
    files: Iterable[Path],
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> None:
    """Take in what is new among `files`; what is known by its hash is not even decoded."""
    known = set(intake.shot.pictures.values_list("sha256", flat=True))
    fresh = [path for path in files if file_hash(path) not in known]
    intake.known += len(list(files)) - len(fresh)
    for done, (path, prepared) in enumerate(zip(fresh, prepare_files(fresh), strict=True), 1):
        if isinstance(prepared, str):
            intake.refused.append(prepared)
        else:
            _keep(intake, path, prepared)
        progress(done, len(fresh))


def _keep(intake: ShotIntake, path: Path, prepared: Prepared) -> None:
    try:
        original = b""
        if intake.shot.production.keep_originals:
            original = read_again(path, prepared.measure.facts.sha256)
        taken = take_in(intake.shot, prepared, None, timezone.now(), original)
    except PictureError as error:
        intake.refused.append(str(error))
        return
    if taken.is_new:
        intake.new.append(taken.picture)
    else:
        intake.known += 1
    if taken.sentence:
        intake.said.append(taken.sentence)


def watch(
    intakes: list[ShotIntake],
    say_arrival: Callable[[ShotIntake, str], None],
    say_wrong: Callable[[ShotIntake, str], None],
    sleep: Callable[[float], None],
) -> None:
    """Take in each picture once its file has stopped growing, and say what is wrong with it.

    Goes on until `sleep` raises KeyboardInterrupt.
    """
    seen: dict[Path, tuple[int, int]] = {}
    done: set[Path] = set()
    try:
        while True:
            for intake in intakes:
                settled = _settled(intake.folder, seen, done)
                new, refused = len(intake.new), len(intake.refused)
                if settled:
                    take_in_folder(intake, settled)
                for sentence in intake.refused[refused:]:
                    say_wrong(intake, sentence)
                for picture in intake.new[new:]:
                    say_arrival(intake, picture.name)
                    for near in judge_arrival(picture):
                        for flag in near.flags:
                            say_wrong(intake, f"{near.name}: {flag_in_words(flag)}")
            sleep(POLL)
    except KeyboardInterrupt:
        return


def _settled(folder: Path, seen: dict, done: set[Path]) -> list[Path]:
    """Files not taken in yet whose size and time are the same as at the look before."""
    try:
        files = list_files(folder)
    except PictureError:
        return []  # nothing in it yet
    settled = []
    for path in files:
        if path in done:
            continue
        try:
            status = path.stat()
        except OSError:
            continue  # gone again
        state = (status.st_size, status.st_mtime_ns)
        if seen.get(path) == state and status.st_size:
            settled.append(path)
            done.add(path)
        seen[path] = state
    return settled


def plan_in_words(plan: LogPlan) -> list[str]:
    """What logging writes, a line each."""
    lines = []
    for planned in plan.sessions:
        start, end = map(timezone.localtime, (planned.times.start, planned.times.end))
        what = "New session" if planned.session is None else f"Session {planned.session.pk}"
        to = "running" if planned.is_running else f"to {end:%H:%M}"
        lines.append(
            f"{what} {start:%d.%m.%Y}, {start:%H:%M} {to}, breaks {planned.break_minutes} min:"
        )
        for one in planned.shots:
            was = f" (was {one.kept_before} and {one.discarded_before})" if one.was_counted else ""
            lines.append(f"  {one.shot.code}: {one.kept} kept, {one.discarded} discarded{was}")
    if plan.untimed:
        lines.append(f"{plan.untimed} pictures without a capture time: log them with --session.")
    if plan.ahead:
        lines.append(
            f"{plan.ahead} pictures taken in the future by the camera’s clock: set it right, and "
            "log them with --session."
        )
    return lines


def to_json(intakes: list[ShotIntake], said: list[str], plan: LogPlan, logged: bool) -> dict:
    """What was done, for a script."""
    return {
        "shots": [
            {
                "shot": intake.shot.code,
                "new": len(intake.new),
                "known": intake.known,
                "refused": intake.refused,
                "said": intake.said,
                "flags": [{"file": name, "words": words} for name, words in intake.flagged()],
            }
            for intake in intakes
        ],
        "said": said,
        "sessions": [
            {
                "session": planned.session and planned.session.pk,
                "start": planned.times.start.isoformat(),
                "end": None if planned.is_running else planned.times.end.isoformat(),
                "break_minutes": planned.break_minutes,
                "active_s": planned.active.total_seconds(),
                "shots": [
                    {"shot": one.shot.code, "kept": one.kept, "discarded": one.discarded}
                    for one in planned.shots
                ],
            }
            for planned in plan.sessions
        ],
        "without_time": plan.untimed,
        "in_the_future": plan.ahead,
        "logged": logged,
    }

"""Laying a finished file against what the client asked for, and accepting what does not fit."""

import re
import secrets
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from clients.models import AcceptedException, Deliverable, DeliverableCheck, FileCheck
from clients.queries.deliverables import wanted_of
from clients.reading.check import captions_beside, check_file, sha256
from clients.reading.film import FileRefused
from clients.reading.folders import allowed_file
from clients.trade.checks.result import FileReport
from clients.trade.delivery import Box, box, results_of
from clients.trade.specification import MEASURED, to_json
from studio.errors import NotPossible
from studio.long_work import Report, begin, long_work
from studio.models import Person

STEPS = 1000  # of the progress bar
OWN_FOLDER, UPLOADED = "deliveries", "uploaded"


def allowed_folders() -> list[Path]:
    """Where the films may lie that pages open; the data folder's own comes first."""
    own = settings.DATA_DIR / OWN_FOLDER
    own.mkdir(mode=0o700, parents=True, exist_ok=True)
    return [own, *settings.DELIVERY_FOLDERS]


def file_on_this_machine(typed: str) -> Path:
    """The file a person named by its path. Raises NotPossible at the field `path`."""
    try:
        return allowed_file(typed, allowed_folders())
    except FileRefused as refusal:
        raise NotPossible(str(refusal), "path") from None


def begin_uploaded_check(
    deliverable: Deliverable,
    film: UploadedFile,
    captions: UploadedFile | None,
    person: Person,
    now: datetime,
) -> FileCheck:
    """Have a film sent from a browser checked. It and its captions lie under a name of our own."""
    folder = settings.DATA_DIR / OWN_FOLDER / UPLOADED
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    stem = folder / secrets.token_hex(16)
    try:
        for sent in filter(None, [captions, film]):
            path = _write(stem.with_suffix(_ending(sent.name)), sent)
        return begin_check(deliverable, path, person, now, uploaded_as=film.name)
    except NotPossible:
        _take_off_the_disk(stem)
        raise


def _ending(name: str) -> str:
    """A plain ending of a file's name, for the container's sake; nothing of the name before it."""
    match = re.search(r"\.[A-Za-z0-9]{1,5}$", name)
    return match[0].lower() if match else ""


def _write(path: Path, sent: UploadedFile) -> Path:
    try:
        with path.open("xb") as file:
            for piece in sent.chunks():
                file.write(piece)
    except OSError as fault:
        raise NotPossible(f"The file could not be kept: {fault.strerror}.", "film") from None
    path.chmod(0o600)
    return path


def _take_off_the_disk(upload: Path) -> None:
    """An uploaded film and what was sent with it."""
    for path in upload.parent.glob(f"{upload.stem}*"):
        path.unlink(missing_ok=True)


@transaction.atomic
def begin_check(
    deliverable: Deliverable,
    path: Path,
    person: Person,
    now: datetime,
    *,
    uploaded_as: str = "",
) -> FileCheck:
    """Have the file at `path` checked in the background; one at a time for each deliverable.

    `uploaded_as` is the name of an uploaded file on its owner's machine.
    """
    longest = FileCheck._meta.get_field("path").max_length
    if len(str(path)) > longest:
        raise NotPossible(f"The path is longer than {longest} letters: shorten it.", "path")
    current = Deliverable.objects.select_for_update(of=("self",)).get(pk=deliverable.pk)
    earlier = list(current.file_checks.select_related("work"))
    if any(row.is_running for row in earlier):
        raise NotPossible("A file is being checked for it already: wait for it, or stop it.")
    row = FileCheck.objects.create(
        deliverable=current,
        path=str(path),
        name=uploaded_as or path.name,
        uploaded=bool(uploaded_as),
        wanted=to_json(wanted_of(current)),
        asked_by=person,
        asked_at=now,
    )
    row.work = begin(check_the_file, f"Checking {row.name}", person, file_check=row.pk)
    row.save(update_fields=["work"])
    transaction.on_commit(lambda: forget_uploads(earlier))
    return row


@long_work
def check_the_file(report: Report, *, file_check: int) -> str:
    """Measure and judge one file, keep every result, and fill the boxes it answers."""
    row = FileCheck.objects.select_related("deliverable__production").get(pk=file_check)
    row.started_at = timezone.now()
    deliverable = row.deliverable
    report.result_at(
        reverse("clients:deliverable_file", args=[deliverable.production.code, deliverable.pk])
    )
    try:
        found = _checked(row, report)
    except FileRefused as refusal:
        row.refusal, row.ended_at = str(refusal)[:300], timezone.now()
        row.save(update_fields=["started_at", "refusal", "ended_at"])
        raise NotPossible(row.refusal) from None
    _keep(row, found)
    misfits = sum(not result.fits for result in found.results)
    if not misfits:
        return f"{row.name} fits."
    return f"{row.name} does not fit in {misfits} item{'s' if misfits > 1 else ''}."


def _checked(row: FileCheck, report: Report) -> FileReport:
    """Raises FileRefused, and what `report` raises to stop."""
    # Asked again here: the folders, or what a link leads to, may have changed since.
    path = allowed_file(row.path, allowed_folders())
    before = path.stat()
    wanted = row.specification
    row.size = before.st_size
    bar = _Bar(report)
    if wanted.wants(*MEASURED):
        captions = _captions(row, path) if wanted.captions else None
        found = check_file(path, wanted, bar.progress, bar.stop, captions)
    else:
        found = FileReport(str(path), sha256(path, bar.stop), ())
    after = path.stat()
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise FileRefused("The file was changed while it was checked; check it again.")
    return found


def _captions(row: FileCheck, film: Path) -> Path:
    """Where the captions are or should be; a link that leads out is refused like a film's."""
    path = captions_beside(film, row.specification.captions)
    if path.exists():
        path = allowed_file(str(path), allowed_folders())
        row.captions_path = str(path)
    return path


class _Bar:
    """The progress bar of a check; being asked whether to stop is a moment to report, too."""

    def __init__(self, report: Report):
        self.report, self.share = report, 0.0

    def progress(self, share: float) -> None:
        self.share = share
        self.report.progress(round(STEPS * share), STEPS)

    def stop(self) -> bool:
        self.progress(self.share)
        return False


@transaction.atomic
def _keep(row: FileCheck, found: FileReport) -> None:
    row.sha256, row.fits = found.sha256, found.fits
    row.results = [asdict(result) for result in found.results]
    row.ended_at = timezone.now()
    row.save()
    fill_boxes(row)


@transaction.atomic
def accept_exception(
    file_check: FileCheck, item: str, who: str, why: str, person: Person, now: datetime
) -> AcceptedException:
    """Note that somebody accepted in writing what does not fit."""
    misfits = [row["check"] for row in file_check.results if not row["fits"]]
    if item not in misfits:
        raise NotPossible("That item fits: there is nothing to accept.")
    if file_check.exceptions.current().filter(item=item).exists():
        raise NotPossible("That is accepted already: take it back first to word it anew.")
    accepted = AcceptedException.objects.create(
        file_check=file_check, item=item, who=who, why=why, at=now, noted_by=person
    )
    fill_boxes(file_check)
    return accepted


@transaction.atomic
def take_back_exception(accepted: AcceptedException, now: datetime) -> None:
    """It was not accepted after all; a delivery that names it stays as it is."""
    rows = AcceptedException.objects.current().filter(pk=accepted.pk)
    rows.update(archived_at=now)
    fill_boxes(accepted.file_check)


def fill_boxes(file_check: FileCheck) -> None:
    """Tick or clear the boxes of the checklist that these results answer."""
    results = results_of(file_check.results)
    accepted = set(file_check.exceptions.current().values_list("item", flat=True))
    rows = DeliverableCheck.objects.current().filter(deliverable=file_check.deliverable_id)
    for row in rows.select_for_update():
        said = box(row.text, results, accepted)
        if said == Box.PERSON and row.filled_from_id is None:
            continue
        is_measured = said != Box.PERSON
        row.filled_from = file_check if is_measured else None
        row.ticked_at = file_check.ended_at if said == Box.FITS else None
        row.ticked_by = None
        row.version += 1
        row.save(update_fields=["filled_from", "ticked_at", "ticked_by", "version"])


def forget_uploads(file_checks: Sequence[FileCheck]) -> None:
    """Take uploaded files off the disk that nobody needs any more; their results stay."""
    for row in file_checks:
        if row.uploaded:
            _take_off_the_disk(Path(row.path))

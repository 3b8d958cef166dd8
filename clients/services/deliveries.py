"""Files leaving the house: copied, named, listed and sealed; then answered by the client."""

import hashlib
import io
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from clients.documents.delivery_sheet import KeptFile
from clients.models import (
    ClientAnswer,
    DeliveredFile,
    DeliveredVersion,
    Delivery,
    DeliveryLink,
)
from clients.queries import deliveries as queries
from clients.queries.deliveries import Leaving, Letter, Ready
from clients.reading.film import FileRefused
from clients.reading.folders import allowed_file
from clients.services import private_links
from clients.services.file_checks import allowed_folders, forget_uploads
from clients.trade.frozen import freeze, thaw
from shots.models import Production
from studio.errors import NotPossible
from studio.long_work import Report, begin, long_work, of_kind
from studio.models import LongWork, Person, Studio
from studio.trade.manifest import DECLARATION, FILE_NAME, write_manifest

LINK_DAYS = 90
PIECE = 1 << 20
"""bytes read at once"""
MADE_MEANWHILE = "Another delivery was made meanwhile: make this one anew."


@dataclass(frozen=True)
class Chosen:
    """A deliverable in a delivery to be made, the check of the file the owner saw, and their word
    on what changed."""

    deliverable: int
    file_check: int
    offered: bool = True
    changed: str = ""


@dataclass(frozen=True)
class _Copy:
    """One file of a delivery, and where in the store it is kept."""

    kept: KeptFile
    place: str


@transaction.atomic
def begin_delivery(
    production: Production, chosen: Sequence[Chosen], letter: Letter, person: Person
) -> LongWork:
    """Have a delivery made in the background, one at a time: large files take their time."""
    Production.objects.select_for_update().get(pk=production.pk)
    under_way = of_kind(make_delivery).not_over()
    if under_way.filter(arguments__production=production.pk).exists():
        raise NotPossible("A delivery of this film is being made already: wait for it, or stop it.")
    _leaving(production, chosen)
    return begin(
        make_delivery,
        f"Making the delivery of {production.code}",
        person,
        production=production.pk,
        chosen=[asdict(one) for one in chosen],
        letter=freeze(letter),
        person=person.pk,
    )


def _leaving(production: Production, chosen: Sequence[Chosen]) -> list[Ready]:
    """What was chosen, each ready to leave. Raises NotPossible for what is not."""
    if not chosen:
        raise NotPossible("Choose at least one file: a delivery without any is none.")
    rows = {row.deliverable.pk: row for row in queries.ready(production)}
    if any(one.deliverable not in rows for one in chosen):
        raise NotPossible("One of the files was taken off the list meanwhile: choose again.")
    leaving, names = [rows[one.deliverable] for one in chosen], set()
    for row, one in zip(leaving, chosen, strict=True):
        name = row.deliverable.name
        if row.refusal:
            raise NotPossible(f"{name} cannot leave. {row.refusal}")
        if row.file_check.pk != one.file_check:
            raise NotPossible(f"Another file was checked for {name} meanwhile: look at it first.")
        if row.name.casefold() in names:
            raise NotPossible(f"Two files would be called {row.name}: correct a name pattern.")
        names.add(row.name.casefold())
    return leaving


@long_work
def make_delivery(
    report: Report, *, production: int, chosen: list[dict], letter: dict, person: int
) -> str:
    """Copy the files, verify every byte, and keep the delivery with its sheet and manifest."""
    film = Production.objects.get(pk=production)
    choices = [Chosen(**one) for one in chosen]
    leaving = _leaving(film, choices)
    number = queries.next_number(film)
    bag = _Bag(film, number, report, sum(row.file_check.size for row in leaving))
    try:
        copies = [bag.copy_of(row) for row in leaving]
        manifest = bag.seal()
        said = thaw(Letter, letter)
        delivery = _keep(film, number, leaving, copies, choices, said, manifest, person)
    except BaseException:  # stopped, put back, or a full disk: nothing half-made stays
        bag.throw_away()
        raise
    report.result_at(reverse("clients:delivery", args=[film.code, number]))
    return f"{delivery} stands. Give the client its private address."


class _Bag:
    """A folder of the store laid out by RFC 8493: the files under data/, their manifest on top."""

    def __init__(self, film: Production, number: int, report: Report, size: int):
        self.film, self.number, self.report, self.size = film, number, report, size
        self.places: list[str] = []
        self.digests: dict[str, str] = {}
        self.done = 0

    def copy_of(self, row: Ready) -> list[_Copy]:
        """Keep the film, and its captions where the check read some."""
        check = row.file_check
        copies = [self._copy(check.path, row.name, check.sha256)]
        if check.captions_path:
            name = str(Path(row.name).with_suffix(Path(check.captions_path).suffix.lower()))
            copies.append(self._copy(check.captions_path, name))
        return copies

    def _copy(self, source: str, name: str, sha256: str = "") -> _Copy:
        try:
            path = allowed_file(source, allowed_folders())
        except FileRefused as refusal:
            raise NotPossible(f"{name} cannot leave. {refusal}") from None
        with _Watched(path, self._read) as raw:
            place = self._save(f"data/{name}", File(raw, name))
        digest = self._digest(place)
        if sha256 and digest != sha256:
            raise NotPossible(f"{path.name} is not the file that was checked: check it again.")
        self.digests[f"data/{name}"] = digest
        return _Copy(KeptFile(name, default_storage.size(place), digest), place)

    def _save(self, name: str, content: File) -> str:
        place = f"deliveries/{self.film.pk}/{self.number}/{name}"
        if self._is_delivered():
            raise NotPossible(MADE_MEANWHILE)
        default_storage.delete(place)  # left by an attempt that was cut off
        self.places.append(place)
        return default_storage.save(place, content)

    def _digest(self, place: str) -> str:
        """SHA-256 of the copy itself, read back from the store."""
        digest = hashlib.sha256()
        with default_storage.open(place, "rb") as file:
            while piece := file.read(PIECE):
                self._read(len(piece))
                digest.update(piece)
        return digest.hexdigest()

    def _read(self, count: int) -> None:
        self.done += count
        self.report.progress(self.done, 2 * self.size, "copying and reading back")

    def seal(self) -> str:
        """Lay the manifest on top; returns its text."""
        manifest = write_manifest(self.digests)
        self._save("bagit.txt", ContentFile(DECLARATION.encode()))
        self._save(FILE_NAME, ContentFile(manifest.encode()))
        return manifest

    def throw_away(self) -> None:
        """Leave nothing half-made; what another attempt brought to its end is not ours to take."""
        if not self._is_delivered():
            for place in self.places:
                default_storage.delete(place)

    def _is_delivered(self) -> bool:
        return self.film.deliveries.filter(number=self.number).exists()


class _Watched(io.FileIO):
    """A file that says how much of it was read."""

    def __init__(self, path: Path, told):
        super().__init__(path)
        self.told = told

    def read(self, size: int = -1) -> bytes:
        piece = super().read(size)
        self.told(len(piece))
        return piece


@transaction.atomic
def _keep(
    film: Production,
    number: int,
    leaving: Sequence[Ready],
    copies: Sequence[Sequence[_Copy]],
    chosen: Sequence[Chosen],
    letter: Letter,
    manifest: str,
    person: int,
) -> Delivery:
    """The delivery and everything in it, at one stroke."""
    changes = [row.changes_in_words(one.changed) for row, one in zip(leaving, chosen, strict=True)]
    listed = [
        Leaving(row, changed, tuple(one.kept for one in files))
        for row, changed, files in zip(leaving, changes, copies, strict=True)
    ]
    paper = queries.paper_for(film, Studio.objects.get(), number, letter, listed)
    try:
        delivery = Delivery.objects.create(
            production=film, number=number, day=letter.day, words=letter.words,
            paper=freeze(paper), manifest=manifest, made_at=timezone.now(), made_by_id=person,
        )  # fmt: skip
        for row, one, changed, files in zip(leaving, chosen, changes, copies, strict=True):
            version = DeliveredVersion.objects.create(
                delivery=delivery, deliverable=row.deliverable, file_check=row.file_check,
                version=row.version, changed=changed, offered=one.offered,
            )  # fmt: skip
            DeliveredFile.objects.bulk_create(
                DeliveredFile(of=version, file=one.place, **asdict(one.kept)) for one in files
            )
    except IntegrityError:
        raise NotPossible(MADE_MEANWHILE) from None
    transaction.on_commit(lambda: forget_uploads([row.file_check for row in leaving]))
    return delivery


@transaction.atomic
def set_offered(version: DeliveredVersion, offered: bool) -> None:
    """Let the client download a version, or no longer."""
    DeliveredVersion.objects.filter(pk=version.pk).update(offered=offered)


def make_link(delivery: Delivery, now: datetime) -> str:
    """A private address for the client; returns its secret, which is kept nowhere."""
    expires = now + timedelta(days=LINK_DAYS)
    return private_links.make_link(DeliveryLink, now, expires, delivery=delivery)


def open_link(token: str, now: datetime) -> DeliveryLink | None:
    """The link a secret opens, or None where it is unknown, expired or revoked."""
    links = DeliveryLink.objects.select_related("delivery__production")
    return private_links.open_link(links, token, now)


@transaction.atomic
def answer(
    version: DeliveredVersion,
    kind: str,
    name: str,
    words: str,
    now: datetime,
    *,
    by_link: DeliveryLink | None = None,
    noted_by: Person | None = None,
) -> ClientAnswer:
    """The client signs a version off or asks for a change; what is signed off stays so.

    Of two people answering at once the first wins. Raises NotPossible.
    """
    current = DeliveredVersion.objects.select_for_update().get(pk=version.pk)
    newer = current.deliverable.versions.filter(version__gt=current.version).last()
    if newer:
        raise NotPossible(f"Version {newer.version} took its place: answer that one.")
    signed = current.answers.filter(kind=ClientAnswer.Kind.SIGNED_OFF).first()
    if signed:
        raise NotPossible(f"It was signed off already, by {signed.name}: nothing changed just now.")
    if kind == ClientAnswer.Kind.CHANGE and not words:
        raise NotPossible("Say what is to be changed.", "words")
    return ClientAnswer.objects.create(
        of=current, kind=kind, name=name, words=words, at=now, by_link=by_link, noted_by=noted_by
    )

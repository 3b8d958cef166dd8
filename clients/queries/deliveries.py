"""What the pages of deliveries show: what may leave, what left, and what the client said."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from django.db.models import Count, Exists, F, Max, OuterRef, Prefetch, Q, QuerySet
from django.utils import timezone

from clients.documents.delivery_sheet import DeliverySheet, KeptFile
from clients.models import (
    ClientAnswer,
    Deliverable,
    DeliveredFile,
    DeliveredVersion,
    Delivery,
    DeliveryLink,
    FileCheck,
    QuoteLine,
)
from clients.queries.deliverables import Promised, deliverables_page, promised_file, sheet_of
from clients.trade.delivery import changes_between, delivered_name, results_of
from clients.trade.filename import NameRefused, next_version
from clients.trade.frozen import thaw
from clients.trade.quoting.lines import LineKind
from shots.models import Production
from studio.models import Studio


@dataclass(frozen=True)
class Ready:
    """A deliverable as it would leave now: its next version, its name, and what is different.

    `refusal` says why it cannot leave; empty where it can.
    """

    row: Promised
    before: DeliveredVersion | None
    version: int
    name: str
    refusal: str

    @property
    def deliverable(self) -> Deliverable:
        return self.row.deliverable

    @property
    def file_check(self) -> FileCheck:
        return self.row.checked.file_check

    @property
    def is_same(self) -> bool:
        """Whether the version before was this very file."""
        return self.before is not None and self.before.file_check.sha256 == self.file_check.sha256

    @property
    def changes(self) -> list[str]:
        """What was measured otherwise than in the version before."""
        if self.before is None or self.row.checked is None:
            return []
        was, now = self.before.file_check, self.file_check
        if self.is_same:
            return [f"The same file, byte for byte, as version {self.before.version}."]
        return changes_between(results_of(was.results), results_of(now.results))

    def changes_in_words(self, said: str) -> str:
        """What is different, in the owner's words and then as measured."""
        return "\n".join(filter(None, [said, *self.changes]))


def ready(production: Production) -> tuple[Ready, ...]:
    """Every deliverable of a production, as it would leave now."""
    before = {
        one.deliverable_id: one
        for one in DeliveredVersion.objects.filter(deliverable__production=production)
        .select_related("file_check", "delivery")
        .order_by("version")
    }
    return tuple(
        _ready(row, before.get(row.deliverable.pk))
        for row in deliverables_page(production).promised
    )


def _ready(row: Promised, before: DeliveredVersion | None) -> Ready:
    version = next_version([before.version] if before else [])
    if row.refusal:
        return Ready(row, before, version, "", row.refusal)
    file, chosen = row.deliverable, row.deliverable.specification
    ending = Path(row.checked.file_check.path).suffix.lower()
    wanted = chosen.wanted.name or "" if chosen else ""
    try:
        name = delivered_name(file.file_name, wanted, file.name_fields, version, ending)
    except NameRefused as refusal:
        return Ready(row, before, version, "", str(refusal))
    return Ready(row, before, version, name, "")


def next_number(production: Production) -> int:
    """The number of the next delivery: never one that was given before."""
    last = production.deliveries.aggregate(last=Max("number"))["last"]
    return next_version([last] if last else [])


def licence_of(production: Production) -> str:
    """The licences in the quote the production came from, one a line."""
    lines = QuoteLine.objects.filter(
        Q(option=None) | Q(option=F("quote__acceptance__option")),
        quote__production=production,
        kind=LineKind.LICENCE,
    )
    return "\n".join(
        ", ".join(filter(None, [line.label, line.territory, line.media, line.term]))
        for line in lines
    )


@dataclass(frozen=True)
class Letter:
    """What a delivery says beside its files."""

    day: date
    words: str = ""
    licence: str = ""


@dataclass(frozen=True)
class Leaving:
    """A deliverable in the delivery being made: what changed, and its files as they were kept."""

    row: Ready
    changed: str
    files: tuple[KeptFile, ...]


def paper_for(
    production: Production,
    studio: Studio,
    number: int,
    letter: Letter,
    leaving: Sequence[Leaving],
) -> DeliverySheet:
    """The sheet that goes with a delivery, before anybody answered it."""
    files = tuple(
        replace(
            promised_file(one.row.row, studio),
            version=one.row.version,
            file_name=one.row.name,
            changed=one.changed,
            kept=one.files,
        )
        for one in leaving
    )
    sheet = sheet_of(production, studio, letter.day, files)
    return replace(sheet, number=number, words=letter.words, licence=letter.licence)


@dataclass(frozen=True)
class Version:
    """A delivered version as pages show it; `newer` took its place, where there is one."""

    row: DeliveredVersion
    files: tuple[DeliveredFile, ...]
    answers: tuple[ClientAnswer, ...]
    newer: int | None

    @property
    def signed_off(self) -> ClientAnswer | None:
        signed = ClientAnswer.Kind.SIGNED_OFF
        return next((one for one in self.answers if one.kind == signed), None)

    @property
    def is_open(self) -> bool:
        """Whether the client may still answer it."""
        return self.signed_off is None and self.newer is None

    @property
    def state(self) -> str:
        """Where it stands, in words."""
        if self.signed_off:
            return "signed off"
        if self.newer:
            return f"replaced by version {self.newer}"
        return "a change is asked for" if self.answers else "waiting for the client"


@dataclass(frozen=True)
class DeliveryPage:
    """One delivery: its sheet as it left, its versions, and the addresses given out."""

    delivery: Delivery
    paper: DeliverySheet
    versions: tuple[Version, ...]
    links: tuple[DeliveryLink, ...] = ()


def delivery_page(delivery: Delivery) -> DeliveryPage:
    """One delivery's page, for the owner and for the client."""
    versions = versions_of(delivery.versions.all())
    return DeliveryPage(
        delivery=delivery,
        paper=thaw(DeliverySheet, delivery.paper),
        versions=versions,
        links=tuple(delivery.links.all()),
    )


def versions_of(rows: QuerySet[DeliveredVersion]) -> tuple[Version, ...]:
    """Delivered versions with their files, answers, and what took their place."""
    answers = ClientAnswer.objects.select_related("noted_by")
    newest = Max("deliverable__versions__version")
    rows = (
        rows.select_related("deliverable", "delivery__production")
        .prefetch_related("files", Prefetch("answers", answers))
        .annotate(newest=newest)
    )
    return tuple(
        Version(
            row=row,
            files=tuple(row.files.all()),
            answers=tuple(row.answers.all()),
            newer=row.newest if row.newest > row.version else None,
        )
        for row in rows.order_by("deliverable__position", "deliverable_id")
    )


def paper_of(delivery: Delivery, studio: Studio) -> DeliverySheet:
    """The sheet as it left, with what the client answered since."""
    page = delivery_page(delivery)
    answers = {
        version.row.deliverable_id: _answer_in_words(version, studio) for version in page.versions
    }
    by_name = {version.files[0].name: version.row.deliverable_id for version in page.versions}
    files = tuple(
        replace(file, answer=answers[by_name[file.file_name]]) for file in page.paper.files
    )
    return replace(page.paper, files=files)


def _answer_in_words(version: Version, studio: Studio) -> str:
    said = version.signed_off or (version.answers[-1] if version.answers else None)
    if said is None:
        return ""
    when = timezone.localtime(said.at, studio.zone)
    act = "Signed off" if said == version.signed_off else "A change was asked for"
    return f"{act} by {said.name}, {when.day} {when:%B %Y, %H:%M}.\n{said.words}".strip()


@dataclass(frozen=True)
class DeliveryRow:
    """A delivery in the list."""

    delivery: Delivery
    files: int
    signed: int
    replaced: int  # by a newer version

    @property
    def is_signed(self) -> bool:
        return self.files == self.signed


def deliveries_of(production: Production) -> tuple[DeliveryRow, ...]:
    """A production's deliveries, the newest first."""
    signed = Q(versions__answers__kind=ClientAnswer.Kind.SIGNED_OFF)
    newer = DeliveredVersion.objects.filter(
        deliverable=OuterRef("versions__deliverable"), version__gt=OuterRef("versions__version")
    )
    rows = production.deliveries.defer("paper", "manifest").annotate(
        files=Count("versions", distinct=True),
        signed=Count("versions__answers", signed, distinct=True),
        replaced=Count("versions", Exists(newer), distinct=True),
    )
    return tuple(
        DeliveryRow(row, row.files, row.signed, row.replaced) for row in rows.order_by("-number")
    )


def changes_asked_for() -> tuple[ClientAnswer, ...]:
    """The last word on each version that no newer one and no sign-off answered."""
    newer = DeliveredVersion.objects.filter(
        deliverable=OuterRef("deliverable"), version__gt=OuterRef("version")
    )
    answers = ClientAnswer.objects.filter(of=OuterRef("pk"))
    open_versions = DeliveredVersion.objects.filter(
        ~Exists(newer),
        ~Exists(answers.filter(kind=ClientAnswer.Kind.SIGNED_OFF)),
        Exists(answers.filter(kind=ClientAnswer.Kind.CHANGE)),
        delivery__production__archived_at=None,
    )
    return tuple(version.answers[-1] for version in versions_of(open_versions))

"""What the deliverables pages and the delivery sheet show."""

from dataclasses import dataclass, replace
from datetime import date

from django.core.paginator import Page, Paginator
from django.db.models import Count, Max, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils import timezone

from clients.documents.delivery_sheet import (
    DeliverySheet,
    PromisedFile,
    SheetCheck,
    SheetResult,
)
from clients.models import AcceptedException, Client, Deliverable, DeliverableCheck, FileCheck
from clients.queries.clients import client_of
from clients.trade.delivery import cadence_caution, results_of
from clients.trade.filename import NameRefused, build_name, next_version
from clients.trade.specification import (
    LABELS,
    MEASURED,
    FilmBehind,
    FrameCount,
    Specification,
    filled_from,
    found_in_words,
    in_words,
    to_json,
    wanted_in_words,
)
from shots.models import Production
from studio.models import Studio
from studio.trade.timecode import rate_label, seconds_and_frames


@dataclass(frozen=True)
class Found:
    """One item of a check as people read it; `accepted` in writing, where it does not fit."""

    item: str
    label: str
    wanted: str
    found: str
    fits: bool
    advice: str
    accepted: AcceptedException | None = None

    @property
    def passes(self) -> bool:
        return self.fits or self.accepted is not None

    @property
    def verdict(self) -> str:
        if self.fits:
            return "fits"
        return "accepted" if self.accepted else "does not fit"


@dataclass(frozen=True)
class Checked:
    """A file laid against its specification; `is_outdated` where that was changed since."""

    file_check: FileCheck
    found: tuple[Found, ...]
    is_outdated: bool

    @property
    def misfits(self) -> tuple[Found, ...]:
        """What does not fit and nobody accepted."""
        return tuple(one for one in self.found if not one.passes)

    @property
    def refusal(self) -> str:
        """Why the file cannot be delivered, as a sentence; empty where it can."""
        row = self.file_check
        if row.is_running:
            return "Its file is being checked."
        if row.fits is None:
            return "Its last check came to no result: check a file again."
        if self.is_outdated:
            return "What is asked for was changed since its file was checked: check it again."
        if self.misfits:
            items = ", ".join(one.label.lower() for one in self.misfits)
            return f"Its file does not fit: {items}. Mend it, or have it accepted in writing."
        return ""


@dataclass(frozen=True)
class Promised:
    """One deliverable: what is asked for in words, what is uneven, its boxes, its last check."""

    deliverable: Deliverable
    wanted: Specification
    specification: tuple[tuple[str, str], ...]
    caution: str
    length_note: str  # where a length typed is not the film's
    checks: tuple[DeliverableCheck, ...]
    archived_checks: tuple[DeliverableCheck, ...]
    checked: Checked | None = None
    file_name: str = ""
    has_left: bool = False  # the file checked last is the one delivered last

    @property
    def refusal(self) -> str:
        """Why it cannot be delivered, as a sentence; empty where it can."""
        return self.checked.refusal if self.checked else "No file was checked for it yet."

    @property
    def ticked(self) -> int:
        return sum(check.is_ticked for check in self.checks)

    @property
    def is_done(self) -> bool:
        return bool(self.checks) and self.ticked == len(self.checks)


@dataclass(frozen=True)
class DeliverablesPage:
    """The files promised for one production."""

    production: Production
    client: Client | None
    promised: tuple[Promised, ...]
    archived: tuple[Deliverable, ...]


def deliverables_page(production: Production) -> DeliverablesPage:
    """One production's deliverables, in their order."""
    checks = DeliverableCheck.objects.select_related("ticked_by", "filled_from")
    last = FileCheck.objects.filter(deliverable=OuterRef("pk")).values("pk")[:1]
    rows = list(
        production.deliverables.select_related("specification")
        .prefetch_related(Prefetch("checks", checks))
        .annotate(
            last_check=Subquery(last),
            delivered=Max("versions__version"),
            left=Max("versions__file_check"),
        )
        .order_by("position", "id")  # a grouped query forgets the model's order
    )
    last_checks = _with_exceptions().in_bulk([row.last_check for row in rows if row.last_check])
    for row in rows:
        row.production = production
    return DeliverablesPage(
        production=production,
        client=client_of(production),
        promised=tuple(
            replace(
                promised(row, last_checks.get(row.last_check), row.delivered),
                has_left=row.left is not None and row.left == row.last_check,
            )
            for row in rows
            if not row.archived_at
        ),
        archived=tuple(row for row in rows if row.archived_at),
    )


def _with_exceptions() -> QuerySet[FileCheck]:
    exceptions = Prefetch("exceptions", AcceptedException.objects.current(), to_attr="accepted")
    return FileCheck.objects.select_related("work", "asked_by").prefetch_related(exceptions)


def last_check_of(deliverable: Deliverable) -> FileCheck | None:
    """The newest check of a file for it, with what was accepted."""
    return _with_exceptions().filter(deliverable=deliverable).first()


def promised(
    deliverable: Deliverable, last: FileCheck | None, delivered: int | None = None
) -> Promised:
    """One deliverable as pages and paper show it; `delivered` is its last version, if any."""
    production, checks = deliverable.production, list(deliverable.checks.all())
    wanted = wanted_of(deliverable)
    return Promised(
        deliverable=deliverable,
        wanted=wanted,
        specification=(*in_words(wanted), *_in_the_clients_words(deliverable)),
        caution=cadence_caution(production.rate, production.exposure, wanted.frame_rate),
        length_note=_length_note(deliverable, wanted.frame_count),
        checks=tuple(check for check in checks if not check.archived_at),
        archived_checks=tuple(check for check in checks if check.archived_at),
        checked=checked(last, wanted) if last else None,
        file_name=_next_name(deliverable, next_version([delivered] if delivered else [])),
    )


def film_length(deliverable: Deliverable) -> int | None:
    """Frames its file would have as long as the film, at its own rate; None where nobody knows."""
    as_long = filled_from(
        Specification(frame_rate=deliverable.length_rate), film_behind(deliverable.production)
    )
    return as_long.frame_count and as_long.frame_count.frames


def _length_note(deliverable: Deliverable, wanted: FrameCount | None) -> str:
    """Where a length typed in the file's own form or in its specification is not the film's."""
    film = film_length(deliverable)
    if not wanted or not film or abs(wanted.frames - film) <= wanted.tolerance:
        return ""
    chosen = deliverable.specification
    whose = "Its specification’s length" if chosen and chosen.wanted.frame_count else "Its length"
    shown = seconds_and_frames(film, deliverable.length_rate)
    return (
        f"{whose} was typed; the film is {shown}. For a shorter cut that is meant. Else empty "
        "the length, and it follows the film."
    )


def _next_name(deliverable: Deliverable, version: int) -> str:
    """What its file will be called; the pattern as typed where that makes no name."""
    pattern = deliverable.file_name
    try:
        return pattern and build_name(pattern, deliverable.name_fields, version)
    except NameRefused:
        return pattern


def checked(row: FileCheck, wanted: Specification) -> Checked:
    """A check as people read it, beside what is asked for now."""
    accepted = {one.item: one for one in row.accepted}
    found = [
        Found(
            item=result.check,
            label=LABELS[result.check],
            wanted=wanted_in_words(result.check, result.wanted),
            found=found_in_words(result.check, result.found),
            fits=result.fits,
            advice=result.advice,
            accepted=accepted.get(result.check),
        )
        for result in results_of(row.results)
    ]
    in_order = tuple(sorted(found, key=lambda one: one.passes))  # what does not fit comes first
    return Checked(row, in_order, is_outdated=row.wanted != to_json(wanted))


def wanted_of(deliverable: Deliverable) -> Specification:
    """What its file is checked against: the specification chosen, what the deliverable says where
    that says nothing, and the film itself for the rest. Its name is given at the delivery."""
    chosen = deliverable.specification.wanted if deliverable.specification else Specification()
    if chosen.wants("name", "stills") and not chosen.wants(*MEASURED):
        return replace(chosen, name=None)  # an archive of pictures, in which no film is measured
    frames = deliverable.frames
    own = {
        "width": deliverable.width,
        "height": deliverable.height,
        "frame_rate": deliverable.rate,
        "frame_count": FrameCount(frames) if frames and not chosen.duration else None,
    }
    added = {item: value for item, value in own.items() if getattr(chosen, item) is None}
    return filled_from(replace(chosen, name=None, **added), film_behind(deliverable.production))


def film_behind(production: Production) -> FilmBehind:
    """What a specification may take from the film."""
    return FilmBehind(production.rate, production.exposure, production.contracted_frames)


def _in_the_clients_words(deliverable: Deliverable) -> list[tuple[str, str]]:
    """What was asked for in words only, which nobody can measure."""
    lines = [
        ("Container, as asked", deliverable.container),
        ("Codec, as asked", deliverable.codec),
        ("Colour, as asked", deliverable.colour),
        ("Sound, as asked", deliverable.sound),
        ("Loudness, as asked", deliverable.loudness),
        ("Captions, as asked", deliverable.captions),
    ]
    return [(label, words) for label, words in lines if words]


ON_A_PAGE = 20


def deliveries(page_number: str | None) -> Page:
    """A page of the productions in hand, the newest first, each with its client and its counts:
    `files`, `checks`, `ticked`, and the number of its `last_delivery`."""
    newest = Production.objects.current().order_by("-created_at", "-id")
    page = Paginator(newest.values_list("pk", flat=True), ON_A_PAGE).get_page(page_number)
    page.object_list = _counted(newest.filter(pk__in=list(page.object_list)))
    return page


def _counted(productions: QuerySet[Production]) -> QuerySet[Production]:
    """With their counts. Only ever of a page: of ten years of films, counting takes longest."""
    here = Q(deliverables__archived_at=None)
    listed = here & Q(deliverables__checks__archived_at=None)
    ticked = listed & Q(deliverables__checks__ticked_at__isnull=False)
    return productions.select_related("commission__client").annotate(
        files=Count("deliverables", here, distinct=True),
        checks=Count("deliverables__checks", listed, distinct=True),
        ticked=Count("deliverables__checks", ticked, distinct=True),
        last_delivery=Max("deliveries__number"),
    )


def delivery_sheet(production: Production, studio: Studio, today: date) -> DeliverySheet:
    """The sheet of everything promised, as it stands today."""
    page = deliverables_page(production)
    files = tuple(promised_file(row, studio) for row in page.promised)
    return sheet_of(production, studio, today, files)


def sheet_of(
    production: Production, studio: Studio, day: date, files: tuple[PromisedFile, ...]
) -> DeliverySheet:
    """A sheet with the facts of the film on it."""
    runtime, client = production.contracted_frames, client_of(production)
    return DeliverySheet(
        studio=studio.name,
        address=studio.address,
        production=production.title,
        code=production.code,
        client=client.name if client else "",
        day=day,
        runtime=seconds_and_frames(runtime, production.rate) if runtime else "",
        rate=rate_label(production.rate),
        files=files,
    )


def promised_file(row: Promised, studio: Studio) -> PromisedFile:
    """One file of the sheet; a check of it that still counts stands in place of what was asked."""
    has_results = row.checked is not None and row.checked.file_check.fits is not None
    current = row.checked if has_results and not row.checked.is_outdated else None
    lines = _in_the_clients_words(row.deliverable) if current else row.specification
    return PromisedFile(
        name=row.deliverable.name,
        purpose=row.deliverable.purpose,
        file_name=row.file_name,
        specification=tuple(lines),
        caution=row.caution,
        checks=tuple(_sheet_check(check, studio) for check in row.checks),
        notes=row.deliverable.notes,
        results=tuple(_sheet_result(one) for one in current.found) if current else (),
        checked=_checked_when(current.file_check, studio) if current else "",
    )


def _sheet_result(one: Found) -> SheetResult:
    note = ""
    if one.accepted:
        note = f"Accepted in writing by {one.accepted.who}: {one.accepted.why}"
    elif not one.fits:
        note = one.advice
    return SheetResult(one.label, one.wanted, one.found, one.verdict, note)


def _checked_when(row: FileCheck, studio: Studio) -> str:
    when = timezone.localtime(row.ended_at, studio.zone)
    return f"{row.name}, checked {when.day} {when:%b %Y, %H:%M}"


def _sheet_check(check: DeliverableCheck, studio: Studio) -> SheetCheck:
    when = timezone.localtime(check.ticked_at, studio.zone) if check.ticked_at else None
    by = "measured" if check.filled_from_id else check.ticked_by.name if check.ticked_by else ""
    return SheetCheck(check.text, when, by)

"""What the deliverables pages and the delivery sheet show."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Prefetch, Q
from django.utils import timezone

from clients.documents.delivery_sheet import DeliverySheet, PromisedFile, SheetCheck
from clients.models import Client, Deliverable, DeliverableCheck
from clients.queries.clients import client_of
from clients.trade.delivery import cadence_caution
from shots.models import Production
from studio.models import Studio
from studio.trade.timecode import rate_label, seconds_and_frames


@dataclass(frozen=True)
class Promised:
    """One deliverable: what was asked for in words, what is uneven, and its checks."""

    deliverable: Deliverable
    specification: tuple[tuple[str, str], ...]
    caution: str
    checks: tuple[DeliverableCheck, ...]
    archived_checks: tuple[DeliverableCheck, ...]

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
    checks = DeliverableCheck.objects.select_related("ticked_by")
    rows = list(production.deliverables.prefetch_related(Prefetch("checks", checks)))
    return DeliverablesPage(
        production=production,
        client=client_of(production),
        promised=tuple(promised(row) for row in rows if not row.archived_at),
        archived=tuple(row for row in rows if row.archived_at),
    )


def promised(deliverable: Deliverable) -> Promised:
    """One deliverable as pages and paper show it."""
    production, checks = deliverable.production, list(deliverable.checks.all())
    return Promised(
        deliverable=deliverable,
        specification=specification(deliverable),
        caution=cadence_caution(production.rate, production.exposure, deliverable.rate),
        checks=tuple(check for check in checks if not check.archived_at),
        archived_checks=tuple(check for check in checks if check.archived_at),
    )


def specification(deliverable: Deliverable) -> tuple[tuple[str, str], ...]:
    """What was asked for, line by line, the file name apart; what nobody asked for is left out."""
    size = f"{deliverable.width} × {deliverable.height}" if deliverable.width else ""
    rate = f"{rate_label(deliverable.rate)} frames a second" if deliverable.rate else ""
    frames = deliverable.frames
    length = seconds_and_frames(frames, deliverable.length_rate) if frames else ""
    lines = [
        ("Picture size", size),
        ("Frame rate", rate),
        ("Length", f"{length} ({frames} frames)" if length else ""),
        ("Container", deliverable.container),
        ("Codec", deliverable.codec),
        ("Colour", deliverable.colour),
        ("Sound", deliverable.sound),
        ("Loudness", deliverable.loudness),
        ("Captions", deliverable.captions),
    ]
    return tuple((label, value) for label, value in lines if value)


def deliveries() -> tuple[Production, ...]:
    """Every production in hand, the newest first, with its client and its counts: `files`,
    `checks`, `ticked`."""
    here = Q(deliverables__archived_at=None)
    listed = here & Q(deliverables__checks__archived_at=None)
    ticked = listed & Q(deliverables__checks__ticked_at__isnull=False)
    rows = Production.objects.current().select_related("commission__client")
    return tuple(
        rows.annotate(
            files=Count("deliverables", here, distinct=True),
            checks=Count("deliverables__checks", listed, distinct=True),
            ticked=Count("deliverables__checks", ticked, distinct=True),
        ).order_by("-created_at", "-id")  # a grouped query forgets the model's order
    )


def delivery_sheet(production: Production, studio: Studio, today: date) -> DeliverySheet:
    """What goes on the sheet that travels with the files."""
    page = deliverables_page(production)
    runtime = production.contracted_frames
    return DeliverySheet(
        studio=studio.name,
        address=studio.address,
        production=production.title,
        code=production.code,
        client=page.client.name if page.client else "",
        day=today,
        runtime=seconds_and_frames(runtime, production.rate) if runtime else "",
        rate=rate_label(production.rate),
        files=tuple(_file(row, studio) for row in page.promised),
    )


def _file(row: Promised, studio: Studio) -> PromisedFile:
    return PromisedFile(
        name=row.deliverable.name,
        purpose=row.deliverable.purpose,
        file_name=row.deliverable.file_name,
        specification=row.specification,
        caution=row.caution,
        checks=tuple(_sheet_check(check, studio) for check in row.checks),
        notes=row.deliverable.notes,
    )


def _sheet_check(check: DeliverableCheck, studio: Studio) -> SheetCheck:
    when = timezone.localtime(check.ticked_at, studio.zone) if check.ticked_at else None
    return SheetCheck(check.text, when, check.ticked_by.name if check.ticked_by else "")

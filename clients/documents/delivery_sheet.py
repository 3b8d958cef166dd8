"""The delivery sheet: what was promised, what was checked, and room to sign for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer

from studio.documents.paper import TickBox, ruled_table, sheet, text_width, words

_LABEL = 30 * mm
_SPEC_LABEL = 24 * mm
_BOX = 8 * mm
_TICKED_BY = 55 * mm
_SIGNING_LINE = 8 * mm
_ROOM_FOR_CHECKS = 30 * mm  # or the first few start the next page


@dataclass(frozen=True)
class SheetCheck:
    """One check; `ticked_at` is in the studio's zone, None for not yet."""

    text: str
    ticked_at: datetime | None = None
    ticked_by: str = ""

    @property
    def said(self) -> str:
        if self.ticked_at is None:
            return "not ticked"
        when = f"{_day(self.ticked_at)}, {self.ticked_at:%H:%M}"
        return f"{self.ticked_by}, {when}" if self.ticked_by else when


@dataclass(frozen=True)
class PromisedFile:
    """One file: its specification as lines of label and value, and its checks."""

    name: str
    purpose: str = ""
    file_name: str = ""
    specification: tuple[tuple[str, str], ...] = ()
    caution: str = ""
    checks: tuple[SheetCheck, ...] = ()
    notes: str = ""

    @property
    def ticked(self) -> str:
        done = sum(check.ticked_at is not None for check in self.checks)
        return f"{done} of {len(self.checks)}"


@dataclass(frozen=True)
class DeliverySheet:
    """What a delivery sheet prints. Empty text is left out."""

    studio: str
    production: str
    code: str
    day: date
    files: tuple[PromisedFile, ...]
    address: str = ""
    client: str = ""
    runtime: str = ""
    rate: str = ""


def delivery_sheet(content: DeliverySheet, paper: str) -> bytes:
    """The sheet as a PDF on `paper`, A4 or Letter. Raises PaperError for any other."""
    width = text_width(paper)
    story: list[Flowable] = [words("Delivery sheet", "title"), _facts(content, width)]
    if len(content.files) > 1:
        story += [words("The files", "heading"), _overview(content.files, width)]
    for number, file in enumerate(content.files, start=1):
        story += _file(number, file, width)
    if not content.files:
        story.append(words("No file is promised yet."))
    story.append(KeepTogether(_sign_off(content, width)))
    title = f"Delivery sheet · {content.code} · {content.production}"
    return sheet(story, title, paper, f"{content.studio} · {_day(content.day)}", content.studio)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _facts(content: DeliverySheet, width: float) -> Flowable:
    count = len(content.files)
    rows = [
        ("Production", f"{content.production} ({content.code})"),
        ("Client", content.client),
        ("Studio", "\n".join(filter(None, [content.studio, content.address]))),
        ("Date", f"{content.day.day} {content.day:%B %Y}"),
        ("Film", _film(content)),
        ("Files", "1 file" if count == 1 else f"{count} files"),
    ]
    return _lines([row for row in rows if row[1]], width, _LABEL)


def _film(content: DeliverySheet) -> str:
    at_rate = f"{content.rate} frames a second" if content.rate else ""
    return " at ".join(filter(None, [content.runtime, at_rate]))


def _lines(rows: Sequence[tuple[str, str]], width: float, label_width: float) -> Flowable:
    cells = [(words(label, "cell_head"), value) for label, value in rows]
    return ruled_table(cells, [label_width, width - label_width], header_rows=0)


def _specification(lines: Sequence[tuple[str, str]], width: float) -> Flowable:
    """Two lines abreast, read down the left half first: an ordinary file keeps to half a page."""
    half = (len(lines) + 1) // 2
    right = [*lines[half:], ("", "")]
    rows = [
        (words(label, "cell_head"), value, words(beside[0], "cell_head"), beside[1])
        for (label, value), beside in zip(lines[:half], right, strict=False)
    ]
    value = width / 2 - _SPEC_LABEL
    return ruled_table(rows, [_SPEC_LABEL, value, _SPEC_LABEL, value], header_rows=0)


def _overview(files: Sequence[PromisedFile], width: float) -> Flowable:
    rows = [("", "File", "File name", "Checks ticked")]
    rows += [
        (str(number), file.name, file.file_name, file.ticked)
        for number, file in enumerate(files, start=1)
    ]
    rest = width - _BOX - 26 * mm
    return ruled_table(rows, [_BOX, 0.5 * rest, 0.5 * rest, 26 * mm], right=(3,))


def _file(number: int, file: PromisedFile, width: float) -> list[Flowable]:
    promise = [words(f"{number} · {file.name}", "heading")]
    if file.purpose:
        promise.append(words(file.purpose))
    if file.specification:
        promise.append(_specification(file.specification, width))
    if file.file_name:
        promise.append(_lines([("File name", file.file_name)], width, _SPEC_LABEL))
    if file.caution:
        promise += [Spacer(0, 4), words(f"Look: {file.caution}")]
    story: list[Flowable] = [KeepTogether(promise)]
    if file.checks:
        story += [CondPageBreak(_ROOM_FOR_CHECKS), Spacer(0, 6), _checks(file.checks, width)]
    if file.notes:
        story += [Spacer(0, 6), words(f"Notes: {file.notes}")]
    return story


def _checks(checks: Sequence[SheetCheck], width: float) -> Flowable:
    rows: list[tuple[str | Flowable, ...]] = [("", "Check", "Ticked by")]
    rows += [(TickBox(check.ticked_at is not None), check.text, check.said) for check in checks]
    return ruled_table(rows, [_BOX, width - _BOX - _TICKED_BY, _TICKED_BY])


def _sign_off(content: DeliverySheet, width: float) -> list[Flowable]:
    half = (width - _LABEL) / 2
    line = Spacer(0, _SIGNING_LINE)
    rows: list[tuple[str | Flowable, ...]] = [
        ("", f"For the studio: {content.studio}", f"For the client: {content.client}".rstrip(": ")),
    ]
    rows += [(label, line, line) for label in ("Name", "Date", "Signature")]
    return [
        words("Handed over and received", "heading"),
        words("The files listed above, with the checks as they are ticked here."),
        ruled_table(rows, [_LABEL, half, half]),
    ]

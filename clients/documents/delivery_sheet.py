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
_VERDICT = 22 * mm
_SIGNING_LINE = 8 * mm
_ROOM_FOR_CHECKS = 30 * mm  # or the first few start the next page

FLASH_NOTE = "The flash caution follows WCAG 2.2 SC 2.3.1. It is a caution, not a certificate."
LICENCE_NOTE = "A reminder only: what was agreed in writing and the law of the place decide."


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
class SheetResult:
    """One item measured in the file; `note` says what is to be done, or who accepted it."""

    label: str
    wanted: str
    found: str
    verdict: str
    note: str = ""


@dataclass(frozen=True)
class KeptFile:
    """A file that was handed over; `size` in bytes."""

    name: str
    size: int
    sha256: str


@dataclass(frozen=True)
class PromisedFile:
    """One file: what was asked for as lines of label and value, what was measured, its checks.

    `version`, `kept` and `changed` are of a file that was handed over, `answer` is the client's.
    """

    name: str
    purpose: str = ""
    file_name: str = ""
    specification: tuple[tuple[str, str], ...] = ()
    caution: str = ""
    checks: tuple[SheetCheck, ...] = ()
    notes: str = ""
    results: tuple[SheetResult, ...] = ()
    checked: str = ""
    version: int | None = None
    kept: tuple[KeptFile, ...] = ()
    changed: str = ""
    answer: str = ""

    @property
    def verdict(self) -> str:
        """What measuring came to, in two words."""
        if not self.results:
            return "as handed over" if self.kept else "not measured"
        verdicts = {result.verdict for result in self.results}
        if verdicts == {"fits"}:
            return "fits"
        return "does not fit" if "does not fit" in verdicts else "fits or accepted"

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
    number: int | None = None
    words: str = ""
    licence: str = ""


def delivery_sheet(content: DeliverySheet, paper: str) -> bytes:
    """The sheet as a PDF on `paper`, A4 or Letter. Raises PaperError for any other."""
    width = text_width(paper)
    name = f"Delivery sheet {content.number}" if content.number else "Delivery sheet"
    story: list[Flowable] = [words(name, "title"), _facts(content, width)]
    if content.words:
        story += [Spacer(0, 6), words(content.words)]
    if len(content.files) > 1:
        story += [words("The files", "heading"), _overview(content.files, width)]
    for number, file in enumerate(content.files, start=1):
        story += _file(number, file, width)
    if not content.files:
        story.append(words("No file is promised yet."))
    if content.licence:
        story += [words("Licence", "heading"), words(content.licence), words(LICENCE_NOTE, "small")]
    story.append(KeepTogether(_sign_off(content, width)))
    title = f"{name} · {content.code} · {content.production}"
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
    rows = [("", "File", "File name", "Measured", "Checks ticked")]
    rows += [
        (str(number), _title(file), file.file_name, file.verdict, file.ticked)
        for number, file in enumerate(files, start=1)
    ]
    rest = width - _BOX - 52 * mm
    return ruled_table(rows, [_BOX, 0.5 * rest, 0.5 * rest, 26 * mm, 26 * mm], right=(4,))


def _title(file: PromisedFile) -> str:
    return f"{file.name}, version {file.version}" if file.version else file.name


def _file(number: int, file: PromisedFile, width: float) -> list[Flowable]:
    promise = [words(f"{number} · {_title(file)}", "heading")]
    if file.purpose:
        promise.append(words(file.purpose))
    if file.specification:
        promise.append(_specification(file.specification, width))
    if file.file_name and not file.kept:
        promise.append(_lines([("File name", file.file_name)], width, _SPEC_LABEL))
    if file.caution:
        promise += [Spacer(0, 4), words(f"Look: {file.caution}")]
    if file.changed and file.version and file.version > 1:
        said = f"Changed since version {file.version - 1}: {file.changed}"
        promise += [Spacer(0, 4), words(said)]
    if file.kept:
        promise.append(_kept(file.kept, width))
    story: list[Flowable] = [KeepTogether(promise)]
    if file.results:
        story += [CondPageBreak(_ROOM_FOR_CHECKS), Spacer(0, 6), *_results(file, width)]
    if file.checks:
        story += [CondPageBreak(_ROOM_FOR_CHECKS), Spacer(0, 6), _checks(file.checks, width)]
    if file.notes:
        story += [Spacer(0, 6), words(f"Notes: {file.notes}")]
    return story


def _kept(files: Sequence[KeptFile], width: float) -> Flowable:
    rows = [("File handed over", "Bytes", "SHA-256")]
    rows += [(file.name, f"{file.size:,}".replace(",", " "), file.sha256) for file in files]
    return ruled_table(rows, [0.36 * width, 0.15 * width, 0.49 * width], right=(1,))


def _results(file: PromisedFile, width: float) -> list[Flowable]:
    """Every item measured, then what is to be said of those that do not fit."""
    rows = [("Measured", "Wanted", "Found", "Verdict")]
    rows += [(one.label, one.wanted, one.found, one.verdict) for one in file.results]
    rest = width - _LABEL - _VERDICT
    table = ruled_table(rows, [_LABEL, 0.46 * rest, 0.54 * rest, _VERDICT])
    notes = [words(f"{one.label}: {one.note}") for one in file.results if one.note]
    checked = f"{file.checked}. {FLASH_NOTE}" if file.checked else FLASH_NOTE
    return [table, Spacer(0, 4), words(checked, "small"), *notes]


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
    answers = [words(f"{_title(file)}: {file.answer}") for file in content.files if file.answer]
    return [
        words("Handed over and received", "heading"),
        *answers,
        words("The files listed above, with the checks as they are ticked here."),
        ruled_table(rows, [_LABEL, half, half]),
    ]

"""A shot list as comma-separated text: reading one with its errors in words, and writing one.

Written as RFC 4180 says: CRLF, fields quoted where they hold a comma, a quote or a line break,
quotes doubled. Read more kindly: semicolons and tabs, any line ends, a byte order mark.
"""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from functools import lru_cache

from shots.trade.budget import BudgetError, ShotLength
from shots.trade.shot_codes import CODE_RULE, LONGEST_CODE, is_code
from studio.trade.timecode import LengthError, parse_length, seconds_and_frames

# Field of a shot → its heading. The rest of `HEADINGS` is written for people and never read back.
READ = {
    "code": "Code",
    "description": "Description",
    "setup": "Set-up",
    "difficulty": "Difficulty",
    "screen_frames": "Length",
    "exposure": "Exposure",
    "held_frames": "Held frames",
    "holds": "Holds",
    "reused_frames": "Reused frames",
    "handle_frames": "Handle frames",
    "notes": "Notes",
}
HEADINGS = (*READ.values(), "Pictures", "Status")
NEEDED = ("code", "screen_frames")
# Other plain words people head these columns with, letters only.
ALSO_CALLED = {
    "shot": "code", "shotcode": "code", "whathappens": "description",
    "screenlength": "screen_frames", "held": "held_frames",
    "reuse": "reused_frames", "reused": "reused_frames",
    "handles": "handle_frames", "note": "notes",
}  # fmt: skip
COUNTS = ("exposure", "held_frames", "holds", "reused_frames", "handle_frames")
MOST = {"exposure": 1000, "holds": 10_000}
MOST_FRAMES = 10_000_000
LONGEST = {"description": 500, "setup": 200, "notes": 20_000}
DELIMITERS = ",;\t"
DELIMITER_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs"}
ENCODINGS = {
    "utf-8": "Unicode (UTF-8)",
    "cp1250": "Central European (Windows 1250)",
    "cp1252": "Western European (Windows 1252)",
    "cp1251": "Cyrillic (Windows 1251)",
    "cp1253": "Greek (Windows 1253)",
    "cp1254": "Turkish (Windows 1254)",
    "iso8859-2": "Central European (ISO 8859-2)",
    "shift_jis": "Japanese (Shift JIS)",
}
# A spreadsheet takes a cell that begins like this for a formula, the full-width signs included.
RISKY = r"[=+\-@\t\r\n＝＋－＠]"


class ListError(ValueError):
    """A list that cannot be read at all; the message says why and how to mend it."""


@dataclass(frozen=True)
class ListedShot:
    """What a shot list says of one shot. Lengths in frames; difficulty and set-up by name."""

    code: str
    description: str
    setup: str
    difficulty: str
    screen_frames: int
    exposure: int
    held_frames: int
    holds: int
    reused_frames: int
    handle_frames: int
    notes: str

    @property
    def pictures(self) -> int:
        """Pictures to take. Raises BudgetError."""
        return ShotLength(
            self.screen_frames,
            self.exposure,
            self.handle_frames,
            self.held_frames,
            self.holds,
            self.reused_frames,
        ).pictures


@dataclass(frozen=True)
class ShotRow:
    """One row of a list. None stands for a column the list lacks, or a count left empty.

    The length is None only in a row with errors.
    """

    line: int
    code: str = ""
    description: str | None = None
    setup: str | None = None
    difficulty: str | None = None
    screen_frames: int | None = None
    exposure: int | None = None
    held_frames: int | None = None
    holds: int | None = None
    reused_frames: int | None = None
    handle_frames: int | None = None
    notes: str | None = None
    errors: tuple[str, ...] = ()

    def over(self, standing: ListedShot) -> ListedShot:
        """`standing` with what this row says in its place; an empty difficulty says nothing.

        Raises BudgetError, with the field named as here, if that cannot be.
        """
        said = {
            name: getattr(self, name)
            for name in READ
            if name != "code" and getattr(self, name) is not None
        }
        if said.get("difficulty") == "":
            del said["difficulty"]
        shot = replace(standing, **said)
        try:
            _ = shot.pictures
        except BudgetError as error:
            raise BudgetError(_OUR_FIELD.get(error.field, error.field), error.sentence) from error
        return shot


_OUR_FIELD = {"handles": "handle_frames"}


@dataclass(frozen=True)
class ShotList:
    """A list as read: its rows, and what to say about how it was read."""

    rows: tuple[ShotRow, ...]
    notes: tuple[str, ...]


def decode(content: bytes, encoding: str = "utf-8") -> str:
    """The text of an uploaded list. A byte order mark wins over the `encoding` named.

    Raises ListError: for an empty file, a workbook, or bytes the encoding does not have; it then
    shows how the line would read in others.
    """
    if not content.strip():
        raise ListError("The file is empty. Choose the file with the shot list in it.")
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise ListError(
            "The file is a spreadsheet workbook, not CSV. In the spreadsheet, save a copy as "
            "“CSV UTF-8” and bring that."
        )
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif content.startswith(b"\xef\xbb\xbf"):
        encoding = "utf-8-sig"
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        raise ListError(_wrong_encoding(content, encoding, error.start)) from error


def _wrong_encoding(content: bytes, encoding: str, at: int) -> str:
    start = content.rfind(b"\n", 0, at) + 1
    end = content.find(b"\n", at)
    line = content[start : end if end >= 0 else len(content)].strip()[:80]
    readings = ", ".join(
        f"“{line.decode(other, 'replace')}” in {ENCODINGS[other]}"
        for other in ("cp1250", "cp1252", "cp1251", "shift_jis")
        if other != encoding
    )
    number = content.count(b"\n", 0, at) + 1
    return (
        f"The file is not {ENCODINGS.get(encoding, 'Unicode')}: line {number} has a byte that "
        f"stands for no letter there, {content[at]:#04x}. Save it as “CSV UTF-8”, or choose the "
        f"encoding it has. That line would read {readings}."
    )


def read(text: str, rate: Fraction) -> ShotList:
    """Read a shot list typed, pasted or decoded. Every error of a row is on that row, in words.

    Raises ListError where no row can be read: no needed columns, an open quotation mark.
    """
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise ListError("The list is empty. Paste the rows with their headings, or choose a file.")
    if "\0" in text:
        raise ListError(
            "The list holds null characters, as a file in the wrong encoding does. "
            "Save it as “CSV UTF-8” and try again."
        )
    delimiter = _delimiter(text)
    records = _records(text, delimiter)
    _, headings = next(records, (1, []))
    columns, notes = _columns(headings, delimiter)
    if delimiter != ",":
        notes.insert(0, f"Read with {DELIMITER_NAMES[delimiter]} between the columns.")
    rows: list[ShotRow] = []
    lines_of: dict[str, int] = {}
    for line, cells in records:
        row = _row(line, cells, columns, rate)
        first = lines_of.setdefault(row.code.casefold(), line)
        if row.code and first != line:
            row = replace(
                row,
                errors=(
                    *row.errors,
                    f"The code {row.code} stands on line {first} already: give each shot its own.",
                ),
            )
        rows.append(row)
    if not rows:
        raise ListError("The list has headings but no rows. Add a row for each shot.")
    return ShotList(rows=tuple(rows), notes=tuple(notes))


def _records(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Each record that is not blank, with the line it starts on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise ListError(
                f"The row that starts on line {line} cannot be read: a quotation mark opens and is "
                "not closed, or a cell is huge. Put quotation marks around the whole cell and "
                "double those inside it."
            ) from error
        if any(cell.strip() for cell in cells):
            yield line, cells
        line = reader.line_num + 1


def _delimiter(text: str) -> str:
    """The one of comma, semicolon and tab under which the first row names most columns."""
    heading = text.strip().splitlines()[0]
    return max(
        DELIMITERS,
        key=lambda mark: sum(
            _field_of(cell.strip('" ')) is not None for cell in heading.split(mark)
        ),
    )


def _field_of(heading: str) -> str | None:
    letters = re.sub(r"[\W_]", "", heading).casefold()
    return _FIELDS.get(letters) or ALSO_CALLED.get(letters)


_FIELDS = {re.sub(r"[\W_]", "", name).casefold(): field for field, name in READ.items()}
_UNREAD = {"pictures", "status"}


def _columns(headings: list[str], delimiter: str) -> tuple[list[str | None], list[str]]:
    columns = [_field_of(heading) for heading in headings]
    missing = [READ[name] for name in NEEDED if name not in columns]
    if missing:
        seen = ", ".join(heading.strip()[:40] for heading in headings[:12] if heading.strip())
        raise ListError(
            f"The first row must name the columns, and {' and '.join(missing)} "
            f"{'is' if len(missing) == 1 else 'are'} missing; it says: {seen}. "
            f"Needed are Code and Length. Also read: {', '.join(list(READ.values())[1:])}."
        )
    for field in READ:
        if columns.count(field) > 1:
            raise ListError(f"The column {READ[field]} is there twice. Remove one of them.")
    unread = [
        heading.strip()[:40]
        for heading, field in zip(headings, columns, strict=True)
        if field is None and heading.strip()
    ]
    return columns, [f"Not read: {', '.join(unread)}."] if unread else []


def _row(line: int, cells: list[str], columns: list[str | None], rate: Fraction) -> ShotRow:
    errors: list[str] = []
    if len(cells) < len(columns) or any(cell.strip() for cell in cells[len(columns) :]):
        errors.append(
            f"The row has {len(cells)} cells and the headings {len(columns)}: "
            "a separator is missing, or text that holds one is not in quotation marks."
        )
    values: dict[str, object] = {}
    for field, cell in zip(columns, cells, strict=False):
        if field is None:
            continue
        try:
            values[field] = _value(field, plain(cell), rate)
        except ValueError as error:
            errors.append(str(error))
            # The code still names the row, to find its double and to show it.
            values[field] = plain(cell)[:LONGEST_CODE] if field == "code" else None
    return ShotRow(line=line, **values, errors=tuple(errors))


def _value(field: str, text: str, rate: Fraction) -> str | int | None:
    heading = READ[field]
    if "�" in text:
        raise ValueError(
            f"{heading} holds “�”: letters were lost when the file was saved. "
            "Save it as “CSV UTF-8” and try again."
        )
    if field == "code":
        if not is_code(text):
            raise ValueError(
                f"“{_short(text)}” is not a code: write {CODE_RULE}, {LONGEST_CODE} at most."
                if text
                else "The code is empty: give the shot one, as A010."
            )
        return text
    if field == "screen_frames":
        return _length(text, rate)
    if field in COUNTS:
        return _count(field, text)
    if len(text) > LONGEST.get(field, 10**9):
        raise ValueError(
            f"{heading} is {len(text)} characters long: {LONGEST[field]} fit. Shorten it."
        )
    return text


@lru_cache(maxsize=1000)  # a long list says the same lengths over and over
def _length(text: str, rate: Fraction) -> int:
    try:
        return parse_length(text, rate)
    except LengthError as error:
        raise ValueError(f"Length: {error}") from error


def _count(field: str, text: str) -> int | None:
    if not text:
        return None
    digits = re.fullmatch(r"([0-9]{1,12})(?:[.,]0+)?(?:\s*f)?", text)
    least, most = int(field == "exposure"), MOST.get(field, MOST_FRAMES)
    if not digits or not least <= int(digits[1]) <= most:
        raise ValueError(
            f"{READ[field]} is “{_short(text)}”: write a whole number from {least} to {most:,}."
        )
    return int(digits[1])


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_CODE * 2 else text[: LONGEST_CODE * 2 - 1] + "…"


def tidy(text: str) -> str:
    """Text as it is kept: no space around it, one kind of line end."""
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def plain(cell: str) -> str:
    """What a cell of a list says, without the apostrophe that guards it from a spreadsheet."""
    return tidy(re.sub(rf"^\s*'(?='*{RISKY})", "", cell) if "'" in cell else cell)


def guarded(cell: str) -> str:
    """A cell no spreadsheet takes for a formula: behind an apostrophe, which `plain` takes off."""
    return f"'{cell}" if re.match(rf"'*{RISKY}", cell) else cell


def write(shots: Sequence[tuple[ListedShot, str]], rate: Fraction) -> str:
    """The list of (shot, status in words) as RFC 4180 text, with CRLF at the end of each line."""
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    for shot, status in shots:
        cells = {field.name: getattr(shot, field.name) for field in fields(shot)}
        cells["screen_frames"] = seconds_and_frames(shot.screen_frames, rate)
        row = [cells[name] for name in READ] + [shot.pictures, status]
        writer.writerow([guarded(cell) if isinstance(cell, str) else cell for cell in row])
    return sheet.getvalue()

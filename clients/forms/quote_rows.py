"""The rows of the quote builder: an option, a sequence, a price line, a part of the plan.

Four options of forty sequences are some two thousand entries, read again with every key typed.
Django's forms take most of a second for that, so a row here is plain text read by its columns;
what the text means is judged by the trade, and its sentence lands at the entry it names.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import ClassVar

from clients.queries.quotes import line_of
from clients.trade.payment import PaymentPart
from clients.trade.quoting.draft import DraftLine, DraftPart
from clients.trade.quoting.errors import QuoteError, check_number
from clients.trade.quoting.lines import Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.three_point import ThreePoint
from studio.trade.timecode import (
    SECONDS_IN_A_DAY,
    LengthError,
    RateError,
    parse_length,
    parse_rate,
)

MOST_DIGITS = 12


def _exact(text: str) -> Decimal | None:
    """A number, with a point or a comma."""
    if not text:
        return None
    try:
        number = Decimal(text.replace(",", ".").replace("\u00a0", "").replace(" ", ""))
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise ValueError(f"“{text}” is not a number: write one such as 12.5.")
    if number.adjusted() >= MOST_DIGITS or number.as_tuple().exponent < -MOST_DIGITS:
        raise ValueError(f"“{text}” is beyond what can be kept: write a shorter number.")
    return number


def _places(most: int) -> Callable[[str], Decimal | None]:
    def read(text: str) -> Decimal | None:
        number = _exact(text)
        if number is not None and number != round(number, most):
            raise ValueError(f"“{text}” has more than {most} decimals: round it.")
        return number

    return read


def _whole(text: str) -> int:
    if not text.isdecimal():
        raise ValueError(f"“{text}” is not a whole number: write one such as 2.")
    if len(text) > 4:
        raise ValueError(f"{text} is beyond what can be kept: write 9999 or less.")
    return int(text)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise ValueError(f"“{text}” is not a date: write one such as 2026-03-31.") from error


def _words(longest: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) > longest:
            raise ValueError(f"Write at most {longest} characters; these are {len(text)}.")
        return text

    return read


def _name(longest: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if not text:
            raise ValueError("Give it a name.")
        return _words(longest)(text)

    return read


def _tick(text: str) -> bool:
    return bool(text)


@dataclass(frozen=True)
class Column:
    """One entry of a row: how its text is read, how it is drawn, and what it is to begin with."""

    name: str
    label: str
    read: Callable[[str], object]
    look: str = "number"
    start: str = ""
    suggests: str = ""


@dataclass(frozen=True)
class Cell:
    """An entry as the page draws it."""

    column: Column
    name: str
    text: str
    error: str
    owner: str
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def as_read(self) -> str:
        """The text as a person reads it: a choice by its name, a tick in words."""
        if self.column.look == "tick":
            return "yes" if self.text else ""
        return dict(self.choices).get(self.text, self.text)


@dataclass
class Row:
    """Texts typed for one thing. `made` is what the trade made of them, if it could.

    Each kind of row says in `make` how its values become the trade's object.
    """

    texts: dict[str, str]
    prefix: str = ""
    errors: dict[str, str] = field(default_factory=dict)
    choices: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    new: bool = False
    made = None

    COLUMNS: ClassVar[tuple[Column, ...]] = ()

    @classmethod
    def blank(cls, **texts: str) -> "Row":
        """A row as it is before anything is typed."""
        start = {column.name: column.start for column in cls.COLUMNS}
        return cls(start | texts, new=True)

    def read(self, *around) -> object | None:
        """Judge the texts. None, with sentences in `errors`, where something is wrong."""
        self.errors, values = {}, {}
        for column in self.COLUMNS:
            try:
                values[column.name] = column.read(self.texts.get(column.name, ""))
            except ValueError as error:
                self.errors[column.name] = str(error)
        if not self.errors:
            self._check_choices(values)
        if not self.errors:
            try:
                self.made = self.make(values, *around)
            except QuoteError as error:
                self.errors[self._column_of(error.field)] = error.sentence
        return None if self.errors else self.made

    def _check_choices(self, values: Mapping) -> None:
        for name, choices in self.choices.items():
            if self.texts.get(name, "") not in {key for key, _ in choices}:
                self.errors[name] = "Choose one of the list."

    def _column_of(self, field_name: str) -> str:
        names = [column.name for column in self.COLUMNS]
        return field_name if field_name in names else names[0]

    @property
    def title(self) -> str:
        """What the row is called."""
        return self.texts.get(self.COLUMNS[0].name) or "the new row"

    @property
    def cells(self) -> dict[str, Cell]:
        """The entries by name, for the page."""
        return {
            column.name: Cell(
                column,
                f"{self.prefix}-{column.name}",
                self.texts.get(column.name, ""),
                self.errors.get(column.name, ""),
                self.title,
                tuple(self.choices.get(column.name, ())),
            )
            for column in self.COLUMNS
        }


class SequenceRow(Row):
    """A run of shots quoted as one."""

    COLUMNS = (
        Column("label", "Sequence", _name(120), "words"),
        Column("seconds", "Length", str),
        Column("exposure", "Exposure", _whole, start="2"),
        Column("difficulty", "Difficulty", str, "choice"),
        Column("held_seconds", "Held", str, start="0"),
        Column("holds", "Holds", _whole, start="1"),
        Column("reused_seconds", "Reused", str, start="0"),
        Column("handles", "Handles", _whole, start="0"),
        Column("setups", "Set-ups", _whole, start="1"),
        Column("characters", "Figures", _whole, start="1"),
    )

    def make(self, values: Mapping, rate: Fraction) -> Sequence:
        lengths = {
            name: _seconds(name, values[name], rate)
            for name in ("seconds", "held_seconds", "reused_seconds")
        }
        sequence = Sequence(**(values | lengths))
        sequence.length(rate)
        return sequence


def _seconds(name: str, text: str, rate: Fraction) -> Decimal:
    """Seconds of the film: a plain number, or a length as people say it (4s06f, 100 f)."""
    try:
        number = _places(3)(text)
        if number is None and name == "seconds":
            raise QuoteError(name, "How long is it? Write seconds, as 4.5, or 108 f.")
        return number or Decimal(0)
    except ValueError as plain:
        if isinstance(plain, QuoteError):
            raise
        try:
            frames = parse_length(text, rate)
        except LengthError as error:
            raise QuoteError(name, str(error)) from error
        return round(Decimal(frames) * rate.denominator / rate.numerator, 3)


class OptionRow(Row):
    """One way of making the film, with its sequences."""

    sequences: list[SequenceRow]

    COLUMNS = (
        Column("label", "Option", _name(80), "words"),
        Column("rate", "Frame rate", str, start="24", suggests="common-rates"),
        Column("runtime", "Runtime asked for, s", _places(3)),
    )

    def make(self, values: Mapping) -> Option:
        try:
            rate = parse_rate(values["rate"])
        except RateError as error:
            raise QuoteError("rate", str(error)) from error
        sequences = [row.read(rate) for row in self.sequences]
        if None in sequences:
            return None
        if values["runtime"] is not None:
            check_number(
                "runtime", values["runtime"], "The runtime", above_least=True, most=SECONDS_IN_A_DAY
            )
        return Option(values["label"], rate, tuple(sequences), values["runtime"])


class LineRow(Row):
    """A price line."""

    COLUMNS = (
        Column("label", "Line", _name(120), "words"),
        Column("kind", "Kind", str, "choice"),
        Column("basis", "Reckoned as", str, "choice"),
        Column("quantity", "Quantity", str),
        Column("rate", "Price or %", _places(4)),
        Column("tax_rate", "Tax %", _places(2), start="0"),
        Column("unit", "Unit", _words(20), "words"),
        Column("pictures_per_hour", "Pictures cleaned an hour", _places(3)),
        Column("of", "Percent of", str, "choice"),
        Column("option", "For", str, "choice"),
        Column("group", "Stands under", _words(80), "words"),
        Column("territory", "Licence: where", _words(80), "words"),
        Column("media", "Licence: in what", _words(80), "words"),
        Column("term", "Licence: how long", _words(80), "words"),
        Column("hidden", "Hidden from the client", _tick, "tick"),
        Column("optional", "Optional", _tick, "tick"),
    )
    UNUSUAL = (
        "option", "of", "unit", "pictures_per_hour", "group", "territory", "media", "term",
    )  # fmt: skip

    def make(self, values: Mapping) -> DraftLine:
        guesses = _guesses(values["quantity"])
        line = line_of(
            values
            | {"tax_rate": values["tax_rate"] or Decimal(0)}
            | dict(zip(("quantity_best", "quantity", "quantity_worst"), guesses, strict=True))
        )
        return DraftLine(line, int(values["option"]) if values["option"] else None)

    def _column_of(self, field_name: str) -> str:
        names = {"licence": "territory", "likely": "quantity"}
        return super()._column_of(names.get(field_name, field_name))

    @property
    def more_cells(self) -> list[Cell]:
        """The entries most lines leave alone."""
        cells = self.cells
        return [cells[name] for name in self.UNUSUAL]

    @property
    def is_unusual(self) -> bool:
        """Whether something under *more* is set or wrong, so that it stands open."""
        licence = self.texts.get("kind") == LineKind.LICENCE
        return licence or any(self.texts.get(one) or one in self.errors for one in self.UNUSUAL)


def _guesses(text: str) -> tuple[Decimal | None, Decimal | None, Decimal | None]:
    """A quantity, or three: best case / most likely / worst case."""
    try:
        numbers = [_places(3)(part.strip()) for part in text.split("/")] if text else [None]
    except ValueError as error:
        raise QuoteError("quantity", str(error)) from error
    if len(numbers) == 1:
        return None, numbers[0], None
    if len(numbers) != 3 or None in numbers:
        raise QuoteError(
            "quantity",
            f"“{text}” is not a quantity: write one number, or best / likely / worst as 5/8/14.",
        )
    return tuple(numbers)


class PaymentRow(Row):
    """A part of the payment plan."""

    COLUMNS = (
        Column("milestone", "When", _name(120), "words", suggests="milestones"),
        Column("percent", "Percent", _places(2)),
        Column("amount", "Amount", _places(4)),
        Column("due_on", "On the date", _day, "day"),
    )

    def make(self, values: Mapping) -> DraftPart:
        part = PaymentPart(values["milestone"], values["percent"], values["amount"])
        return DraftPart(part, values["due_on"])


def line_texts(line: Line) -> dict[str, str]:
    """A line as it is typed."""
    quantity = line.quantity
    if isinstance(quantity, ThreePoint):
        guesses = (quantity.optimistic, quantity.likely, quantity.pessimistic)
        words = " / ".join(plain(one) for one in guesses)
    else:
        words = plain(quantity)
    return {
        "label": line.label,
        "kind": line.kind.value,
        "basis": line.basis.value,
        "quantity": words,
        "rate": plain(line.rate),
        "tax_rate": plain(line.tax_rate),
        "unit": line.unit,
        "pictures_per_hour": plain(line.pictures_per_hour),
        "of": line.of[0].value if line.of else "",
        "group": line.group,
        "territory": line.licence.territory if line.licence else "",
        "media": line.licence.media if line.licence else "",
        "term": line.licence.term if line.licence else "",
        "hidden": "on" if line.hidden else "",
        "optional": "on" if line.optional else "",
    }


def plain(value: Decimal | int | str | None) -> str:
    """A number without needless zeros: 12.5, 300."""
    if value is None:
        return ""
    if not isinstance(value, Decimal):
        return str(value)
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text

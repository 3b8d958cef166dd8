"""The quote builder's rows together: read, added, moved, dropped, and made into a draft."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal

from clients.forms.quote_rows import (
    LineRow,
    OptionRow,
    PaymentRow,
    Row,
    SequenceRow,
    line_texts,
    plain,
)
from clients.queries.quotes import Stock, line_of
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.lines import Basis, LineKind
from clients.trade.quoting.option import Sequence
from studio.trade.timecode import rate_label

MOST_ROWS = 400

# How each kind of line is reckoned unless its writer says otherwise.
USUAL_BASIS = {
    LineKind.ANIMATION: Basis.DAYS,
    LineKind.CONTINGENCY: Basis.DAYS,
    LineKind.SETUP: Basis.QUANTITY,
    LineKind.CLEANUP: Basis.QUANTITY,
    LineKind.DISCOUNT: Basis.PERCENT,
}


class Sheet:
    """All rows of a builder. Read it from what was typed or from a draft; then `draft()`."""

    def __init__(
        self,
        options: list[OptionRow],
        lines: list[LineRow],
        payments: list[PaymentRow],
        difficulties: Iterable[str],
    ):
        self.options, self.lines, self.payments = options, lines, payments
        self.difficulties = tuple(difficulties)
        self.number()

    def number(self) -> None:
        """Give every row its place and its choices."""
        difficulties = {"difficulty": tuple((name, name) for name in self.difficulties)}
        for n, option in enumerate(self.options):
            option.prefix = f"o{n}"
            for m, sequence in enumerate(option.sequences):
                sequence.prefix, sequence.choices = f"o{n}s{m}", difficulties
        kinds = tuple((one.value, one.value) for one in LineKind)
        choices = {
            "kind": kinds,
            "basis": tuple((one.value, one.value) for one in Basis),
            "of": (("", "every line above"), *kinds),
            "option": (
                ("", "every option"),
                *((str(n), row.texts["label"]) for n, row in enumerate(self.options)),
            ),
        }
        for n, line in enumerate(self.lines):
            line.prefix, line.choices = f"l{n}", choices
        for n, part in enumerate(self.payments):
            part.prefix = f"p{n}"

    @property
    def kinds(self) -> list[str]:
        """Kinds a line may be of."""
        return [one.value for one in LineKind]

    @property
    def rows(self) -> list[Row]:
        """Every row, in the order of the page."""
        sequences = [row for option in self.options for row in (option, *option.sequences)]
        return [*sequences, *self.lines, *self.payments]

    @property
    def entries(self) -> dict[str, str]:
        """Every entry's text by its name."""
        return {cell.name: cell.text for row in self.rows for cell in row.cells.values()}

    @property
    def said(self) -> dict[str, str]:
        """What every entry says, by the row and the column it stands in; the empty ones left out.

        Rows of one name are told apart by a number.
        """
        seen, said = Counter(), {}
        for row in self.rows:
            kind = type(row).__name__, row.title
            seen[kind] += 1
            name = row.title if seen[kind] == 1 else f"{row.title} ({seen[kind]})"
            for cell in row.cells.values():
                if cell.text:
                    said[f"{name}: {cell.column.label}"] = cell.as_read
        return said

    def read(self) -> bool:
        """Judge every row; each says what is wrong with it. Whether nothing is."""
        for row in (*self.options, *self.lines, *self.payments):
            row.read()
        return not self.faults

    @property
    def faults(self) -> list[tuple[str, str]]:
        """(address of the entry, sentence) of everything that is wrong."""
        return [
            (f"{row.prefix}-{name}", f"{row.title}: {words}")
            for row in self.rows
            for name, words in row.errors.items()
        ]

    def draft(self, currency: str, confidence: float, revision_rounds: int) -> Draft:
        """What is typed, ready to be priced. Only after `read` found nothing wrong."""
        return Draft(
            tuple(row.made for row in self.options),
            tuple(row.made for row in self.lines),
            tuple(row.made for row in self.payments),
            currency,
            confidence,
            revision_rounds,
        )

    # What buttons of the page do to the rows, before anything is saved.

    def add_sequence(self, place: str) -> None:
        """One more sequence at the end of an option, shot like the one before it."""
        row = self._row(place)
        if row is None or not hasattr(row, "sequences"):
            return
        last = row.sequences[-1].texts if row.sequences else {}
        middle = self.difficulties[len(self.difficulties) // 2] if self.difficulties else ""
        row.sequences.append(
            SequenceRow.blank(
                label=f"Sequence {len(row.sequences) + 1}",
                exposure=last.get("exposure", "2"),
                difficulty=last.get("difficulty", middle),
            )
        )

    def add_option(self) -> None:
        """One more way of making the film: a copy of the last, to change."""
        if not self.options:
            return
        copy = _copied(self.options[-1])
        copy.texts["label"], copy.new = f"Option {len(self.options) + 1}", True
        self.options.append(copy)

    def add_line(self, wanted: str, stock: Stock, tax: Decimal) -> None:
        """A line from the studio's own ("template:3"), of somebody's days ("person:3"), or of a
        kind ("kind:edit")."""
        what, _, which = wanted.partition(":")
        if what == "template":
            texts = _line_in_stock(which, stock)
        elif what == "person":
            texts = _line_of_days(which, stock, tax)
        else:
            texts = _line_of_kind(which, tax)
        if texts:
            self.lines.append(LineRow.blank(**texts))

    def add_payment(self) -> None:
        """One more part of the plan."""
        self.payments.append(PaymentRow.blank())

    def tax_all(self, tax: Decimal) -> None:
        """The same tax on every line but discounts, which take that of the lines they lower."""
        for row in self.lines:
            if row.texts.get("kind") != LineKind.DISCOUNT:
                row.texts["tax_rate"] = plain(tax)

    def copy(self, place: str) -> None:
        """A copy right after the row."""
        rows, at = self._place(place)
        if rows is not None:
            rows.insert(at + 1, _copied(rows[at]))
            if rows is self.options:
                self._shift_lines(lambda n: n + 1 if n > at else n)

    def drop(self, place: str) -> None:
        """Take a row out; the last option and its last sequence stay."""
        rows, at = self._place(place)
        if rows is None or (len(rows) == 1 and rows not in (self.lines, self.payments)):
            return
        del rows[at]
        if rows is self.options:
            self.lines = [row for row in self.lines if row.texts.get("option") != str(at)]
            self._shift_lines(lambda n: n - 1 if n > at else n)

    def move(self, place: str, step: int) -> None:
        """One place up or down."""
        rows, at = self._place(place)
        if rows is None or not 0 <= at + step < len(rows):
            return
        rows[at], rows[at + step] = rows[at + step], rows[at]
        if rows is self.options:
            swapped = {at: at + step, at + step: at}
            self._shift_lines(lambda n: swapped.get(n, n))

    def _shift_lines(self, shift: Callable[[int], int]) -> None:
        """Lines of one option follow it to its new place."""
        for row in self.lines:
            if row.texts.get("option", "").isdecimal():
                row.texts["option"] = str(shift(int(row.texts["option"])))

    def _row(self, place: str) -> Row | None:
        return next((row for row in self.rows if row.prefix == place), None)

    def _place(self, place: str) -> tuple[list[Row] | None, int]:
        lists = [self.options, self.lines, self.payments, *(row.sequences for row in self.options)]
        for rows in lists:
            for at, row in enumerate(rows):
                if row.prefix == place:
                    return rows, at
        return None, 0


def _line_in_stock(key: str, stock: Stock) -> dict[str, str] | None:
    found = next((one for one in stock.templates if str(one.pk) == key), None)
    return line_texts(line_of(vars(found))) if found else None


def _line_of_days(key: str, stock: Stock, tax: Decimal) -> dict[str, str] | None:
    found = next((one for one in stock.day_rates if str(one.pk) == key), None)
    return found and {
        "label": f"Animation, {found.person.name}",
        "kind": LineKind.ANIMATION.value,
        "basis": Basis.DAYS.value,
        "rate": plain(found.rate),
        "tax_rate": plain(tax),
    }


def _line_of_kind(name: str, tax: Decimal) -> dict[str, str] | None:
    if name not in {one.value for one in LineKind}:
        return None
    kind = LineKind(name)
    return {
        "label": name.capitalize(),
        "kind": name,
        "basis": USUAL_BASIS.get(kind, Basis.FIXED).value,
        "tax_rate": "0" if kind == LineKind.DISCOUNT else plain(tax),
        "pictures_per_hour": "12" if kind == LineKind.CLEANUP else "",
    }


def _copied(row: Row) -> Row:
    copy = type(row)(dict(row.texts), new=True)
    if isinstance(row, OptionRow):
        copy.sequences = [SequenceRow(dict(one.texts)) for one in row.sequences]
    return copy


def typed_sheet(data: Mapping[str, str], difficulties: Iterable[str]) -> Sheet:
    """The sheet as somebody typed it."""
    options = _typed_rows(OptionRow, "o{}", data)
    for n, option in enumerate(options):
        option.sequences = _typed_rows(SequenceRow, f"o{n}s{{}}", data)
    lines = _typed_rows(LineRow, "l{}", data)
    return Sheet(options, lines, _typed_rows(PaymentRow, "p{}", data), difficulties)


def _typed_rows(kind: type[Row], prefix: str, data: Mapping[str, str]) -> list:
    rows = []
    while f"{prefix.format(len(rows))}-{kind.COLUMNS[0].name}" in data and len(rows) < MOST_ROWS:
        here = prefix.format(len(rows))
        texts = {one.name: data.get(f"{here}-{one.name}", "").strip() for one in kind.COLUMNS}
        rows.append(kind(texts))
    return rows


def sheet_of(draft: Draft, difficulties: Iterable[str]) -> Sheet:
    """The sheet of a draft as it is stored."""
    options = []
    for option in draft.options:
        row = OptionRow(
            {
                "label": option.label,
                "rate": rate_label(option.rate),
                "runtime": plain(option.runtime),
            }
        )
        row.sequences = [_sequence_row(one) for one in option.sequences]
        options.append(row)
    lines = [
        LineRow(line_texts(one.line) | {"option": "" if one.option is None else str(one.option)})
        for one in draft.lines
    ]
    payments = [
        PaymentRow(
            {
                "milestone": one.part.milestone,
                "percent": plain(one.part.percent),
                "amount": plain(one.part.amount),
                "due_on": one.due_on.isoformat() if one.due_on else "",
            }
        )
        for one in draft.payments
    ]
    return Sheet(options, lines, payments, difficulties)


def _sequence_row(sequence: Sequence) -> SequenceRow:
    return SequenceRow(
        {column.name: plain(getattr(sequence, column.name)) for column in SequenceRow.COLUMNS}
    )

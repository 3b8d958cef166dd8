"""The parts that quotes, change orders and invoices share: letterhead, price table, totals.

Amounts and dates arrive as text, already in the client's language.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from reportlab.platypus import Flowable, KeepTogether, Spacer, Table
from reportlab.platypus.tables import TableStyle

from studio.documents.paper import HAIRLINE, INK, ruled_table, text_width, words

_A_PAGE_OF_WORDS = 1200  # surely on one page, in a price line’s column and any script


@dataclass(frozen=True)
class Party:
    """Who sends or receives: a name, and the lines of the address and numbers under it."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class PriceRow:
    """A price line. `detail` is how it is reckoned ("14 days × 420.00"); `includes` what a folded
    group holds."""

    label: str
    amount: str
    group: str = ""
    detail: str = ""
    includes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SumRow:
    """A total under the price lines; `strong` ones stand out."""

    label: str
    amount: str
    strong: bool = False


def letterhead(
    sender: Party, receiver: Party, facts: Sequence[tuple[str, str]], paper: str
) -> list[Flowable]:
    """Sender and receiver side by side, then the facts of the paper in one row of columns."""
    width = text_width(paper)
    address = Table(
        [[_party("From", sender), _party("To", receiver)]],
        colWidths=[width / 2, width / 2],
        style=_bare(),
        hAlign="LEFT",
        splitInRow=1,
    )
    names, values = zip(*facts, strict=True)
    row = Table(
        [
            [words(name, "small") for name in names],
            [words(value, "cell") for value in values],
        ],
        colWidths=[width / len(facts)] * len(facts),
        style=TableStyle([*_bare().getCommands(), ("LINEABOVE", (0, 0), (-1, 0), HAIRLINE, INK)]),
        hAlign="LEFT",
    )
    return [address, Spacer(0, 8), row, Spacer(0, 6)]


def price_table(rows: Sequence[PriceRow], paper: str, heading: str = "Amount") -> Table:
    """Price lines, those of a group under its name; the header repeats on every page, and no page
    ends with the name of a group.

    A line that is alone in its group needs no name over it.
    """
    width = text_width(paper)
    cells: list[list[str | Flowable]] = [["", "", heading]]
    grouped = []
    for group, members in groupby(rows, lambda row: row.group):
        lines = list(members)
        named_group = bool(group) and len(lines) > 1
        if named_group:
            if len(named(lines[0])) < _A_PAGE_OF_WORDS:  # a longer line has to be split itself
                grouped.append(("NOSPLIT", (0, len(cells)), (0, len(cells) + 1)))
            cells.append([words(group, "cell_head"), "", ""])
            first, last = len(cells), len(cells) + len(lines) - 1
            grouped.append(("LEFTPADDING", (0, first), (0, last), 14))
        cells += [[named(row), row.detail, row.amount] for row in lines]
    table = ruled_table(cells, [0.5 * width, 0.27 * width, 0.23 * width], right=(1, 2))
    table.setStyle(TableStyle(grouped))
    return table


def named(row: PriceRow) -> str:
    """What a price line is called, and what it includes under that."""
    return f"{row.label}\nincludes {', '.join(row.includes)}" if row.includes else row.label


def sum_table(rows: Sequence[SumRow], paper: str) -> Flowable:
    """Totals flush right, kept on one page."""
    width = text_width(paper)
    cells = []
    for row in rows:
        head = "_head" if row.strong else ""
        cells.append(
            [
                "",
                words(row.label, f"cell{head}"),
                words(row.amount, f"cell{head}_right"),
            ]
        )
    table = ruled_table(cells, [0.4 * width, 0.34 * width, 0.26 * width], header_rows=0)
    return KeepTogether([Spacer(0, 4), table, Spacer(0, 4)])


def signature_lines(paper: str) -> Table:
    """Room for a name, a date and a signature."""
    width = text_width(paper)
    gap = 14
    column = (width - 2 * gap) / 3
    return Table(
        [
            ["", "", "", "", ""],
            [words(one, "small") for one in ("Name", "", "Date", "", "Signature")],
        ],
        colWidths=[column, gap, column, gap, column],
        rowHeights=[30, None],
        style=TableStyle(
            [
                *_bare().getCommands(),
                *(("LINEBELOW", (n, 0), (n, 0), HAIRLINE, INK) for n in (0, 2, 4)),
            ]
        ),
        hAlign="LEFT",
    )


def bullets(sentences: Sequence[str]) -> list[Flowable]:
    """Sentences, one to a line, each behind a dash."""
    return [words(f"– {sentence}") for sentence in sentences]


def _party(role: str, party: Party) -> list[Flowable]:
    return [
        words(role, "small"),
        words(party.name, "cell_head"),
        *(words(line, "cell") for line in party.lines),
    ]


def _bare() -> TableStyle:
    return TableStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 8),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ]
    )

"""The quote a client is sent: the film, the options, the price, the plan, and where to sign."""

from collections import Counter
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer

from clients.documents.money_tables import (
    Party,
    PriceRow,
    SumRow,
    bullets,
    letterhead,
    named,
    price_table,
    signature_lines,
    sum_table,
)
from studio.documents.paper import TickBox, ruled_table, sheet, text_width, words

_MOST_OPTIONS_IN_A_TABLE = 4
ON_REQUEST = "On request, not in the price"

Amounts = list[tuple[str, str]]  # what for, how much


@dataclass(frozen=True)
class QuotedOption:
    """An option as the client sees it; hidden lines are folded in before it gets here.

    `sums` lead to `total`; with several options both stand side by side, row by label.
    `difference` says in words how it differs from the first option. `payments` are (what makes it
    due, share, amount).
    """

    label: str
    length: str
    pictures: str
    days: str
    finish: str
    total: str
    lines: tuple[PriceRow, ...]
    sums: tuple[SumRow, ...]
    extras: tuple[PriceRow, ...] = ()
    difference: str = ""
    payments: tuple[tuple[str, str, str], ...] = ()
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True)
class QuotePaper:
    """Everything on a quote. Amounts and dates are text in the client's language.

    `dates` are (what, when); `changes` are (difficulty, price of one more second).
    """

    number: str
    revision: int
    title: str
    film: str
    date: str
    valid_until: str
    sender: Party
    receiver: Party
    included: tuple[str, ...]
    options: tuple[QuotedOption, ...]
    dates: tuple[tuple[str, str], ...] = ()
    changes: tuple[tuple[str, str], ...] = ()
    tax_note: str = ""
    paper: str = "A4"
    language: str = "en"


def quote_pdf(quote: QuotePaper) -> bytes:
    """The quote as a PDF; two to three pages for a film of usual size."""
    revision = f", revision {quote.revision}" if quote.revision > 1 else ""
    name = f"Quote {quote.number}{revision}"
    story = [
        words(quote.title, "title"),
        words(quote.film),
        *letterhead(
            quote.sender,
            quote.receiver,
            [
                ("Quote", f"{quote.number}{revision}"),
                ("Date", quote.date),
                ("Valid until", quote.valid_until),
            ],
            quote.paper,
        ),
    ]
    if quote.included:
        story += [words("What is included", "heading"), *bullets(quote.included)]
    if len(quote.options) == 1:
        story += _one_option(quote.options[0], quote.paper)
    else:
        story += _several_options(quote)
    story += _pairs("Dates", quote.dates, quote.paper)
    rate_for_changes = "The rate for changes: one more second, before tax"
    story += _pairs(rate_for_changes, quote.changes, quote.paper)
    story += _acceptance(quote, name)
    return sheet(
        story,
        f"{name} · {quote.title}",
        quote.paper,
        quote.sender.name,
        author=quote.sender.name,
        lang=quote.language,
    )


def _one_option(option: QuotedOption, paper: str) -> list[Flowable]:
    """The price with how each line is reckoned, then the plan and what it assumes."""
    width = text_width(paper)
    story = [
        words("Price", "heading"),
        price_table(option.lines, paper),
        sum_table(option.sums, paper),
    ]
    if option.extras:
        story += [words(ON_REQUEST, "heading"), price_table(option.extras, paper)]
    if option.payments:
        rows = [["", "Share", "Amount"], *option.payments]
        columns = [0.5 * width, 0.27 * width, 0.23 * width]
        story += [words("Payment plan", "heading"), ruled_table(rows, columns, right=(1, 2))]
    return story + _assumed("This price assumes", option.assumptions)


def _several_options(quote: QuotePaper) -> list[Flowable]:
    """Options side by side, a column of amounts each, in as many tables as they need."""
    story: list[Flowable] = [words("The options", "heading")]
    story += [
        words(f"{option.label}: {option.difference}")
        for option in quote.options
        if option.difference
    ]
    for start in range(0, len(quote.options), _MOST_OPTIONS_IN_A_TABLE):
        options = quote.options[start : start + _MOST_OPTIONS_IN_A_TABLE]
        story += [_comparison(options, quote.paper), Spacer(0, 6)]
        extras = [[(named(row), row.amount) for row in option.extras] for option in options]
        story += _columns(ON_REQUEST, options, extras, quote.paper)
        payments = [
            [
                (f"{due} ({share})" if share else due, amount)
                for due, share, amount in option.payments
            ]
            for option in options
        ]
        story += _columns("Payment plan", options, payments, quote.paper)
    shared = [
        one
        for one in quote.options[0].assumptions
        if all(one in option.assumptions for option in quote.options)
    ]
    for option in quote.options:
        own = tuple(one for one in option.assumptions if one not in shared)
        story += _assumed(f"The price of {option.label} assumes", own)
    return story + _assumed("Every price assumes", tuple(shared))


def _comparison(options: tuple[QuotedOption, ...], paper: str) -> Flowable:
    rows: list[list[str | Flowable]] = [
        ["", *(option.label for option in options)],
        ["Length", *(option.length for option in options)],
        ["Pictures", *(option.pictures for option in options)],
        ["Days of shooting", *(option.days for option in options)],
        ["Finished", *(option.finish for option in options)],
        *_merged([[(named(row), row.amount) for row in option.lines] for option in options]),
        *_merged(
            [
                [(row.label, row.amount) for row in option.sums if not row.strong]
                for option in options
            ]
        ),
        [
            words("Price", "cell_head"),
            *(words(option.total, "cell_head_right") for option in options),
        ],
    ]
    return _table_of_options(rows, len(options), paper)


def _columns(
    heading: str, options: tuple[QuotedOption, ...], amounts: list[Amounts], paper: str
) -> list[Flowable]:
    rows = [["", *(option.label for option in options)], *_merged(amounts)]
    if len(rows) == 1:
        return []
    return [words(heading, "heading"), _table_of_options(rows, len(options), paper)]


def _merged(columns: list[Amounts]) -> list[list[str]]:
    """Rows of the same name side by side; a dash where an option has none.

    A name that an option has twice keeps its two rows.
    """
    numbered = []
    for column in columns:
        seen: Counter[str] = Counter()
        rows = {}
        for name, amount in column:
            rows[name, seen[name]] = amount
            seen[name] += 1
        numbered.append(rows)
    keys = dict.fromkeys(key for rows in numbered for key in rows)
    return [[key[0], *(rows.get(key, "–") for rows in numbered)] for key in keys]


def _table_of_options(rows: list[list[str | Flowable]], count: int, paper: str) -> Flowable:
    width = text_width(paper)
    first = (0.5 if count < 3 else 0.34) * width
    columns = [(width - first) / count] * count
    return ruled_table(rows, [first, *columns], right=range(1, count + 1))


def _assumed(heading: str, sentences: tuple[str, ...]) -> list[Flowable]:
    return [words(heading, "heading"), *bullets(sentences)] if sentences else []


def _pairs(heading: str, rows: tuple[tuple[str, str], ...], paper: str) -> list[Flowable]:
    if not rows:
        return []
    width = text_width(paper)
    table = ruled_table(rows, [0.5 * width, 0.5 * width], header_rows=0, right=(1,))
    return [words(heading, "heading"), table]


def _acceptance(quote: QuotePaper, name: str) -> list[Flowable]:
    block: list[Flowable] = [
        words("Acceptance", "heading"),
        words(
            f"We accept {name.lower()} as described here. It is valid until {quote.valid_until}."
        ),
    ]
    if len(quote.options) > 1:
        width = text_width(quote.paper)
        rows = [[TickBox(), option.label, option.total] for option in quote.options]
        columns = [8 * mm, 0.77 * width - 8 * mm, 0.23 * width]
        block.append(ruled_table(rows, columns, header_rows=0, right=(2,)))
    block += [signature_lines(quote.paper)]
    if quote.tax_note:
        block.append(words(quote.tax_note, "small"))
    return [KeepTogether(block)]

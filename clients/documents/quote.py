"""The quote a client is sent: the film, the options, the price, the plan, and where to sign."""

from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer

from clients.documents.money_tables import (
    Party,
    PriceRow,
    SumRow,
    bullets,
    letterhead,
    price_table,
    signature_lines,
    sum_table,
)
from studio.documents.paper import TickBox, ruled_table, sheet, text_width, words

_MOST_OPTIONS_IN_A_TABLE = 4


@dataclass(frozen=True)
class QuotedOption:
    """An option as the client sees it; hidden lines are folded in before it gets here.

    `difference` says in words how it differs from the first option.
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

    `payments` of an option are (what makes it due, share, amount); `dates` are (what, when);
    `changes` are (difficulty, price of one more second).
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
    if len(quote.options) > 1:
        story += _options_compared(quote)
    for option in quote.options:
        story += _option_priced(quote, option)
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


def _options_compared(quote: QuotePaper) -> list[Flowable]:
    """Options side by side, a column each, in as many tables as they need."""
    story: list[Flowable] = [words("The options", "heading")]
    for start in range(0, len(quote.options), _MOST_OPTIONS_IN_A_TABLE):
        options = quote.options[start : start + _MOST_OPTIONS_IN_A_TABLE]
        rows = [
            ["", *(option.label for option in options)],
            ["Length", *(option.length for option in options)],
            ["Pictures", *(option.pictures for option in options)],
            ["Days of shooting", *(option.days for option in options)],
            ["Finished", *(option.finish for option in options)],
            ["Price", *(words(option.total, "cell_head") for option in options)],
        ]
        width = text_width(quote.paper)
        first = 0.2 * width
        columns = [(width - first) / len(options)] * len(options)
        story.append(ruled_table(rows, [first, *columns]))
        story.append(Spacer(0, 4))
    for option in quote.options:
        if option.difference:
            story.append(words(f"{option.label}: {option.difference}"))
    return story


def _option_priced(quote: QuotePaper, option: QuotedOption) -> list[Flowable]:
    named = f": {option.label}" if len(quote.options) > 1 else ""
    story = [
        words(f"Price{named}", "heading"),
        price_table(option.lines, quote.paper),
        sum_table(option.sums, quote.paper),
    ]
    if option.extras:
        story += [
            words(f"On request, not in the price{named}", "heading"),
            price_table(option.extras, quote.paper),
        ]
    if option.payments:
        width = text_width(quote.paper)
        rows = [["", "Share", "Amount"], *option.payments]
        story += [
            words(f"Payment plan{named}", "heading"),
            ruled_table(rows, [0.5 * width, 0.27 * width, 0.23 * width], right=(1, 2)),
        ]
    if option.assumptions:
        story += [words(f"This price assumes{named}", "heading"), *bullets(option.assumptions)]
    return story


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

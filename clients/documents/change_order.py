"""The change order: what changes in the film, what it does to days and price, where to sign."""

from dataclasses import dataclass

from reportlab.platypus import KeepTogether

from clients.documents.money_tables import (
    Party,
    PriceRow,
    SumRow,
    letterhead,
    price_table,
    signature_lines,
    sum_table,
)
from studio.documents.paper import ruled_table, sheet, text_width, words


@dataclass(frozen=True)
class ChangeOrderPaper:
    """Everything on a change order. Amounts, lengths and dates are text in the client's language.

    `shots` are (shot, what changes, length, pictures), the last two with their sign. `effects` are
    (what, agreed so far, with this change): the length, the pictures, the finish, the price.
    `payment` says in words when the change is paid.
    """

    number: str
    quote_number: str
    title: str
    reason: str
    date: str
    valid_until: str
    sender: Party
    receiver: Party
    shots: tuple[tuple[str, str, str, str], ...]
    lines: tuple[PriceRow, ...]
    sums: tuple[SumRow, ...]
    effects: tuple[tuple[str, str, str], ...]
    payment: str = ""
    tax_note: str = ""
    paper: str = "A4"
    language: str = "en"


def change_order_pdf(order: ChangeOrderPaper) -> bytes:
    """The change order as a PDF."""
    name = f"Change order {order.number}"
    width = text_width(order.paper)
    story = [
        words(order.title, "title"),
        *([words(order.reason)] if order.reason else []),
        *letterhead(
            order.sender,
            order.receiver,
            [
                ("Change order", order.number),
                ("To quote", order.quote_number),
                ("Date", order.date),
                ("Valid until", order.valid_until),
            ],
            order.paper,
        ),
        *_shots(order, width),
        words("Price of the change", "heading"),
        price_table(order.lines, order.paper, "Change"),
        sum_table(order.sums, order.paper),
        *([words(f"To be paid {order.payment}.")] if order.payment else []),
        words("What it does", "heading"),
        ruled_table(
            [["", "Agreed so far", "With this change"], *order.effects],
            [0.4 * width, 0.3 * width, 0.3 * width],
            right=(1, 2),
        ),
    ]
    block = [
        words("Acceptance", "heading"),
        words(f"We accept {name.lower()} to quote {order.quote_number}. All else stays as agreed."),
        signature_lines(order.paper),
    ]
    if order.tax_note:
        block.append(words(order.tax_note, "small"))
    story.append(KeepTogether(block))
    return sheet(
        story,
        f"{name} · {order.title}",
        order.paper,
        order.sender.name,
        author=order.sender.name,
        lang=order.language,
    )


def _shots(order: ChangeOrderPaper, width: float) -> list:
    if not order.shots:
        return []
    return [
        words("What changes", "heading"),
        ruled_table(
            [["Shot", "Change", "Length", "Pictures"], *order.shots],
            [0.32 * width, 0.36 * width, 0.18 * width, 0.14 * width],
            right=(2, 3),
        ),
    ]

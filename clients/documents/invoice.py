"""The invoice and the credit note: who owes whom what, for what, by when."""

from dataclasses import dataclass

from reportlab.platypus import KeepTogether

from clients.documents.money_tables import (
    Party,
    PriceRow,
    SumRow,
    bullets,
    letterhead,
    price_table,
    sum_table,
)
from studio.documents.paper import sheet, words


@dataclass(frozen=True)
class InvoicePaper:
    """Everything on an invoice. Amounts and dates are text in the client's language.

    `how_to_pay` are lines such as the account and the reference to give.
    """

    number: str
    title: str
    date: str
    due: str
    supplied: str
    sender: Party
    receiver: Party
    lines: tuple[PriceRow, ...]
    sums: tuple[SumRow, ...]
    how_to_pay: tuple[str, ...] = ()
    tax_note: str = ""
    paper: str = "A4"
    language: str = "en"


@dataclass(frozen=True)
class CreditNotePaper:
    """Everything on a credit note: it names the invoice it takes back, in part or whole."""

    number: str
    invoice_number: str
    invoice_date: str
    title: str
    reason: str
    date: str
    sender: Party
    receiver: Party
    lines: tuple[PriceRow, ...]
    sums: tuple[SumRow, ...]
    tax_note: str = ""
    paper: str = "A4"
    language: str = "en"


def invoice_pdf(invoice: InvoicePaper) -> bytes:
    """The invoice as a PDF."""
    facts = [
        ("Invoice", invoice.number),
        ("Date", invoice.date),
        *([("Supplied", invoice.supplied)] if invoice.supplied else []),
        ("To pay by", invoice.due),
    ]
    closing = []
    if invoice.how_to_pay:
        closing = [words("How to pay", "heading"), *bullets(invoice.how_to_pay)]
    return _money_paper(invoice, f"Invoice {invoice.number}", "", facts, closing)


def credit_note_pdf(note: CreditNotePaper) -> bytes:
    """The credit note as a PDF."""
    facts = [
        ("Credit note", note.number),
        ("Date", note.date),
        ("To invoice", note.invoice_number),
        ("Invoice dated", note.invoice_date),
    ]
    return _money_paper(note, f"Credit note {note.number}", note.reason, facts, [])


def _money_paper(
    paper: InvoicePaper | CreditNotePaper,
    name: str,
    reason: str,
    facts: list[tuple[str, str]],
    closing: list,
) -> bytes:
    if paper.tax_note:
        closing = [*closing, words(paper.tax_note, "small")]
    story = [
        words(name, "title"),
        words(paper.title),
        *([words(reason)] if reason else []),
        *letterhead(paper.sender, paper.receiver, facts, paper.paper),
        price_table(paper.lines, paper.paper),
        sum_table(paper.sums, paper.paper),
    ]
    if closing:
        story.append(KeepTogether(closing))
    return sheet(
        story,
        f"{name} · {paper.title}",
        paper.paper,
        paper.sender.name,
        author=paper.sender.name,
        lang=paper.language,
    )

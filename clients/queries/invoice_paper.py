"""What prints on an invoice or a credit note, in the client's language."""

from datetime import date

from clients.documents.invoice import CreditNotePaper, InvoicePaper, credit_note_pdf, invoice_pdf
from clients.documents.money_tables import PriceRow
from clients.models import Invoice
from clients.queries.money_text import day, money, number, unit_price
from clients.queries.paper_rows import receiver, sender, sum_rows, text_lines
from clients.trade.invoice import InvoiceLine, InvoiceSum, due_date
from studio.models import Studio


def paper_of(
    invoice: Invoice, summed: InvoiceSum, studio: Studio, issued_on: date
) -> InvoicePaper | CreditNotePaper:
    """Everything that prints on it, dated `issued_on`."""
    language = invoice.language
    shared = {
        "number": invoice.reference or "draft",
        "title": invoice.title,
        "date": day(issued_on, language),
        "sender": sender(studio),
        "receiver": receiver(invoice.client),
        "lines": tuple(_row(line, invoice) for line in summed.lines),
        "sums": sum_rows(summed.totals, language, "To credit" if invoice.is_credit else "To pay"),
        "tax_note": invoice.tax_note,
        "paper": studio.paper,
        "language": language.split("_")[0],
    }
    if invoice.is_credit:
        return CreditNotePaper(
            invoice_number=invoice.credits.reference,
            invoice_date=day(invoice.credits.issued_on, language),
            reason=invoice.reason,
            **shared,
        )
    return InvoicePaper(
        due=day(due_date(issued_on, invoice.terms_days), language),
        supplied=invoice.supplied,
        how_to_pay=text_lines(studio.payment_account, invoice.how_to_pay),
        **shared,
    )


def missing_from(invoice: Invoice, studio: Studio) -> tuple[str, ...]:
    """What most tax laws or payers look for on a draft and will not find, in words.

    EN 16931: BT-31 and BT-32 the seller's tax number, BG-5 and BG-8 the addresses, BT-84 the
    account.
    """
    wanted = {
        "your address": studio.address,
        "your tax number": studio.tax_number,
        "the client’s address": invoice.client.address,
    }
    if not invoice.is_credit:
        wanted["an account to pay into"] = studio.payment_account or invoice.how_to_pay
    return tuple(name for name, words in wanted.items() if not words.strip())


def pdf_of(paper: InvoicePaper | CreditNotePaper) -> bytes:
    """The paper as a PDF."""
    is_credit = isinstance(paper, CreditNotePaper)
    return credit_note_pdf(paper) if is_credit else invoice_pdf(paper)


def _row(line: InvoiceLine, invoice: Invoice) -> PriceRow:
    language = invoice.language
    details = []
    if line.quantity is not None:
        price = unit_price(line.price, invoice.currency, language)
        details.append(f"{number(line.quantity, language)} × {price}")
    details.append(f"tax {number(line.tax_rate, language)} %")
    return PriceRow(
        line.label, money(line.amount, invoice.currency, language), detail=", ".join(details)
    )

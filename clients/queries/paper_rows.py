"""What quotes, change orders and invoices print alike, in the client's language."""

from clients.documents.money_tables import Party, PriceRow, SumRow
from clients.models import Client
from clients.queries.money_text import money, number, unit_price
from clients.trade.quoting.client_view import ClientLine
from clients.trade.quoting.lines import Basis, LineKind
from clients.trade.quoting.totals import TaxPart, Totals
from studio.models import Studio


def sender(studio: Studio) -> Party:
    """The studio, as a paper's head prints it."""
    tax_number = _tax_number(studio.tax_number)
    return Party(studio.name, text_lines(studio.address, studio.phone, tax_number))


def receiver(client: Client) -> Party:
    """The client, as a paper's head prints it."""
    return Party(client.name, text_lines(client.address, _tax_number(client.tax_number)))


def _tax_number(number: str) -> str:
    return f"Tax number {number}" if number else ""


def text_lines(*texts: str) -> tuple[str, ...]:
    """The lines of texts that say something."""
    return tuple(line.strip() for text in texts for line in text.splitlines() if line.strip())


def price_row(line: ClientLine, currency: str, language: str) -> PriceRow:
    """A price line as the client reads it."""
    return PriceRow(
        label=line.label,
        amount=money(line.amount, currency, language),
        group=line.group,
        detail=_detail(line, currency, language),
        includes=line.includes,
    )


def _detail(line: ClientLine, currency: str, language: str) -> str:
    """How the amount is reckoned, so that anyone can multiply it again."""
    if line.quantity is not None and line.price is not None:
        unit = "days" if line.line.basis == Basis.DAYS else line.line.unit
        price = unit_price(line.price, currency, language)
        return f"{number(line.quantity, language)} {unit} × {price}".replace("  ", " ")
    if line.line and line.line.basis == Basis.PERCENT:
        return f"{number(line.line.rate, language)} %"
    if line.line and line.line.kind == LineKind.LICENCE:
        licence = line.line.licence
        return f"{licence.media}, {licence.territory}, {licence.term}"
    return ""


def sum_rows(totals: Totals, language: str, result: str, bases: bool = True) -> tuple[SumRow, ...]:
    """Net, taxes, and the `result` in bold; `bases` says what each tax is on."""

    def tax_of(part: TaxPart) -> str:
        rate = f"Tax {number(part.rate, language)} %"
        return f"{rate} on {money(part.base, totals.currency, language)}" if bases else rate

    rows = [("Before tax", totals.net)]
    rows += [(tax_of(part), part.tax) for part in totals.taxes if part.rate]
    return (
        *(SumRow(label, money(amount, totals.currency, language)) for label, amount in rows),
        SumRow(result, money(totals.gross, totals.currency, language), strong=True),
    )

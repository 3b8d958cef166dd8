"""Invoices and credit notes: what they say, when they are due, how they stand, for the accountant.

Amounts follow EN 16931 (see clients.trade.quoting.totals). Whether and which tax is due is for
local tax law and a licensed adviser to say.
"""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO

from clients.trade.payment import tax_parts_of_payment
from clients.trade.quoting.errors import QuoteError, check_coins, check_number
from clients.trade.quoting.totals import TaxedAmount, TaxPart, Totals, totals
from studio.trade.money import quantize

LONGEST_TERMS = 365


@dataclass(frozen=True)
class InvoiceLine:
    """One line before tax: `quantity` × `price`, or an `amount` alone."""

    label: str
    amount: Decimal
    tax_rate: Decimal
    quantity: Decimal | None = None
    price: Decimal | None = None


@dataclass(frozen=True)
class InvoiceSum:
    """The lines of an invoice or credit note and what they come to."""

    lines: tuple[InvoiceLine, ...]
    totals: Totals


@dataclass(frozen=True)
class Standing:
    """Where an invoice stands on a day. `outstanding` is negative where too much was paid."""

    outstanding: Decimal
    days_overdue: int
    words: str


def invoice_line(
    label: str, quantity: Decimal, price: Decimal, tax_rate: Decimal, currency: str
) -> InvoiceLine:
    """A line of quantity × price, rounded to the currency. Raises QuoteError."""
    check_number("quantity", quantity, f"The quantity of “{label}”", above_least=True)
    check_number("price", price, f"The price of “{label}”")
    check_number("tax_rate", tax_rate, f"The tax rate of “{label}”", most=100)
    check_number("price", quantity * price, f"The amount of “{label}”")
    amount = quantize(quantity * price, currency)
    return InvoiceLine(label, amount, tax_rate, quantity, price)


def plain_invoice(lines: Sequence[InvoiceLine], currency: str) -> InvoiceSum:
    """An invoice of its own lines. Raises QuoteError where there are none."""
    if not lines:
        raise QuoteError("lines", "The invoice has no lines: add one.")
    taxed = [TaxedAmount(line.amount, line.tax_rate) for line in lines]
    return InvoiceSum(tuple(lines), totals(taxed, [], currency))


def payment_invoice(
    whole: Totals, amounts: Sequence[Decimal], place: int, label: str
) -> InvoiceSum:
    """The invoice of one part of a payment plan: a line for each tax rate of the price agreed.

    `amounts` are all parts of the plan, tax included, and `place` (from 0) the one invoiced.
    """
    return _sum_of(tax_parts_of_payment(whole, amounts, place), label, whole.currency)


def together(sums: Sequence[InvoiceSum], currency: str) -> InvoiceSum:
    """One invoice of several: own lines and parts of what was agreed.

    Each keeps the tax it has, so that the invoices of a plan still add up to the whole. Raises
    QuoteError where nothing is to pay, and where a tax or the whole is below zero: a client gets
    money back by a credit note.
    """
    if not sums:
        raise QuoteError("lines", "The invoice has no lines: add one.")
    nothing = quantize(Decimal(0), currency)
    rates: dict[Decimal, list[TaxPart]] = {}
    for part in (part for one in sums for part in one.totals.taxes):
        rates.setdefault(part.rate, []).append(part)
    taxes = tuple(
        TaxPart(
            rate, sum((one.base for one in same), nothing), sum((one.tax for one in same), nothing)
        )
        for rate, same in sorted(rates.items(), reverse=True)
    )
    net = sum((part.base for part in taxes), nothing)
    tax = sum((part.tax for part in taxes), nothing)
    if net + tax <= 0 or any(part.base < 0 for part in taxes):
        raise QuoteError(
            "lines",
            f"The invoice comes to {net + tax} {currency}: put more on it. Money goes back to a "
            "client by a credit note.",
        )
    lines = tuple(line for one in sums for line in one.lines)
    return InvoiceSum(lines, Totals(currency, net, nothing, net, taxes, tax, net + tax))


def credit_note(
    invoice: Totals, credited_before: Decimal, amount: Decimal | None, label: str
) -> InvoiceSum:
    """A credit note for `amount` of an invoice, tax included, or for all that is left of it.

    Its amounts are positive, as on every credit note. Raises QuoteError for more than is left.
    """
    left = invoice.gross - credited_before
    if amount is None:
        amount = left
    check_number("amount", amount, "The credit", above_least=True)
    check_coins("amount", amount, "The credit", invoice.currency)
    if amount > left:
        raise QuoteError(
            "amount",
            f"The credit of {amount} {invoice.currency} is more than the {left} "
            f"{invoice.currency} left on the invoice: lower it.",
        )
    parts = tax_parts_of_payment(invoice, [credited_before, amount], 1)
    return _sum_of(parts, label, invoice.currency)


def due_date(issued: date, terms_days: int) -> date:
    """The day a payment is due. Raises QuoteError for terms below 0 or over a year."""
    check_number("terms_days", terms_days, "The payment terms in days", most=LONGEST_TERMS)
    return issued + timedelta(days=terms_days)


def standing(gross: Decimal, credited: Decimal, paid: Decimal, due: date, today: date) -> Standing:
    """What is still to pay and whether it is late; the due date itself is in time."""
    outstanding = gross - credited - paid
    late = max((today - due).days, 0) if outstanding > 0 else 0
    if outstanding < 0:
        words = "paid too much"
    elif outstanding == 0:
        words = "credited" if credited and not paid else "paid"
    else:
        words = "paid in part" if paid else "open"
        if late:
            words = f"{words}, {late} {'day' if late == 1 else 'days'} overdue"
    return Standing(outstanding, late, words)


def _sum_of(parts: Sequence[TaxPart], label: str, currency: str) -> InvoiceSum:
    lines = tuple(InvoiceLine(label, part.base, part.rate) for part in parts if part.base)
    net = sum((part.base for part in parts), quantize(Decimal(0), currency))
    tax = sum((part.tax for part in parts), quantize(Decimal(0), currency))
    nothing = quantize(Decimal(0), currency)
    return InvoiceSum(lines, Totals(currency, net, nothing, net, tuple(parts), tax, net + tax))


@dataclass(frozen=True)
class Booking:
    """An issued invoice or credit note as the accountant's list needs it."""

    number: str
    is_credit: bool
    issued: date
    due: date | None
    client: str
    totals: Totals


CSV_HEADINGS = (
    "number",
    "document",
    "issued",
    "due",
    "client",
    "currency",
    "tax rate",
    "net",
    "tax",
    "gross",
)


def accountant_csv(bookings: Iterable[Booking]) -> str:
    """A row for each tax rate of each document, RFC 4180; credit notes are negative.

    Text that a spreadsheet would read as a formula gets a leading apostrophe.
    """
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CSV_HEADINGS)
    for one in bookings:
        sign = -1 if one.is_credit else 1
        for part in one.totals.taxes:
            writer.writerow(
                (
                    _as_text(one.number),
                    "credit note" if one.is_credit else "invoice",
                    one.issued.isoformat(),
                    one.due.isoformat() if one.due else "",
                    _as_text(one.client),
                    one.totals.currency,
                    part.rate,
                    sign * part.base,
                    sign * part.tax,
                    sign * (part.base + part.tax),
                )
            )
    return out.getvalue()


# How a spreadsheet knows a formula, full-width forms included (OWASP, CSV injection; from memory).
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def _as_text(value: str) -> str:
    return f"'{value}" if value.lstrip(" ").startswith(_FORMULA_STARTS) else value

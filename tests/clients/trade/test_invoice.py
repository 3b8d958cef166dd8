import csv
from datetime import date
from decimal import Decimal as D
from io import StringIO

import pytest

from clients.trade.invoice import (
    Booking,
    InvoiceLine,
    accountant_csv,
    credit_note,
    due_date,
    invoice_line,
    payment_invoice,
    plain_invoice,
    standing,
    together,
)
from clients.trade.quoting.errors import QuoteError

DUE = date(2026, 3, 31)
LINES = [
    invoice_line("Felt moon", D(3), D("0.99"), D(20), "EUR"),
    invoice_line("Book of sketches", D(1), D("30.00"), D(10), "EUR"),
]
INVOICE = plain_invoice(LINES, "EUR").totals


def test_an_invoice_adds_up_by_rate():
    # 3 × 0.99 at 20 % is 0.59 on the total (EN 16931 worked row, computed).
    assert (INVOICE.net, INVOICE.tax, INVOICE.gross) == (D("32.97"), D("3.59"), D("36.56"))


def test_an_invoice_in_one_part_is_the_whole():
    one = payment_invoice(INVOICE, [INVOICE.gross], 0, "Felt film")
    assert one.totals.taxes == INVOICE.taxes
    assert [line.amount for line in one.lines] == [D("2.97"), D("30.00")]


def test_credit_notes_in_parts_take_an_invoice_back_to_nothing():
    first = credit_note(INVOICE, D(0), D("10.00"), "Less felt")
    rest = credit_note(INVOICE, D("10.00"), None, "All of it")
    assert first.totals.gross == D("10.00")
    assert rest.totals.gross == D("26.56")
    for part, one, two in zip(INVOICE.taxes, first.totals.taxes, rest.totals.taxes, strict=True):
        assert one.base + two.base == part.base
        assert one.tax + two.tax == part.tax


@pytest.mark.parametrize(("before", "amount"), [("0", "36.57"), ("36.56", None), ("0", "0")])
def test_a_credit_beyond_what_is_left_is_refused(before, amount):
    with pytest.raises(QuoteError) as refused:
        credit_note(INVOICE, D(before), amount and D(amount), "Too much")
    assert refused.value.field == "amount"


def test_an_invoice_without_lines_is_refused():
    with pytest.raises(QuoteError):
        plain_invoice([], "EUR")


def test_several_sums_on_one_invoice_keep_the_tax_each_has():
    own = plain_invoice([invoice_line("Courier", D(1), D("0.33"), D(20), "EUR")], "EUR")
    part = payment_invoice(INVOICE, [D("10.00"), D("26.56")], 0, "First part")
    both = together([part, own], "EUR").totals
    for whole, one, two in zip(
        both.taxes, part.totals.taxes, (*own.totals.taxes, None), strict=True
    ):
        assert whole.tax == one.tax + (two.tax if two else 0)
    assert both.gross == part.totals.gross + own.totals.gross


def test_an_invoice_below_zero_is_refused():
    less = payment_invoice(
        plain_invoice([InvoiceLine("Rebate", D("-5"), D(20))], "EUR").totals,
        [D("-6.00")], 0, "Rebate",
    )  # fmt: skip
    with pytest.raises(QuoteError, match="by a credit note"):
        together([less], "EUR")
    ten = plain_invoice([invoice_line("Book", D(1), D(10), D(10), "EUR")], "EUR")
    with pytest.raises(QuoteError, match="by a credit note"):
        together([less, ten], "EUR")  # 20 % tax would be below zero
    assert together([less, plain_invoice(LINES * 4, "EUR")], "EUR").totals.gross == D("140.26")


@pytest.mark.parametrize(
    "text", ["=1", "+1", "-1", "@a", "\t=1", "\r=1", "\n=1", " =1", "＝1", "＋1", "－1", "＠a"]
)
def test_no_text_of_the_accountants_list_starts_a_formula(text):
    # OWASP, CSV injection (from memory)
    booking = Booking("2026-001", False, date(2026, 3, 1), DUE, text, INVOICE)
    rows = list(csv.reader(StringIO(accountant_csv([booking]), newline="")))
    assert rows[1][4] == "'" + text


@pytest.mark.parametrize(
    ("quantity", "price", "tax", "field"),
    [
        ("99999999", "99999999999", "20", "price"),
        ("0", "1", "20", "quantity"),
        ("1", "-1", "20", "price"),
        ("1", "1", "120", "tax_rate"),
    ],
)
def test_an_invoice_line_that_cannot_be_is_refused(quantity, price, tax, field):
    with pytest.raises(QuoteError) as refused:
        invoice_line("Felt", D(quantity), D(price), D(tax), "EUR")
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("credited", "paid", "today", "outstanding", "late", "words"),
    [
        ("0", "0", date(2026, 3, 31), "100", 0, "open"),
        ("0", "0", date(2026, 4, 1), "100", 1, "open, 1 day overdue"),
        ("0", "40", date(2026, 4, 10), "60", 10, "paid in part, 10 days overdue"),
        ("0", "100", date(2026, 4, 10), "0", 0, "paid"),
        ("100", "0", date(2026, 4, 10), "0", 0, "credited"),
        ("20", "80", date(2026, 4, 10), "0", 0, "paid"),
        ("0", "101", date(2026, 4, 10), "-1", 0, "paid too much"),
    ],
)
def test_an_invoice_stands_where_payments_left_it(credited, paid, today, outstanding, late, words):
    stands = standing(D(100), D(credited), D(paid), DUE, today)
    assert (stands.outstanding, stands.days_overdue, stands.words) == (D(outstanding), late, words)


def test_an_invoice_is_due_its_terms_after_its_date():
    assert due_date(date(2026, 2, 15), 14) == date(2026, 3, 1)
    with pytest.raises(QuoteError):
        due_date(date(2026, 2, 15), -1)


def test_the_accountants_list_keeps_rfc_4180_and_disarms_formulas():
    bookings = [
        Booking("2026-001", False, date(2026, 3, 1), DUE, '=Żółć, "felt" &\nsons', INVOICE),
        Booking("2026-002", True, date(2026, 3, 2), None, "Paper Moon", INVOICE),
    ]
    text = accountant_csv(bookings)
    # RFC 4180 2 (verified): CRLF; fields with a comma, quote or line break are quoted.
    assert '"\'=Żółć, ""felt"" &\nsons"' in text
    assert text.endswith("\r\n")
    rows = list(csv.reader(StringIO(text, newline="")))
    assert rows[1][4:] == ['\'=Żółć, "felt" &\nsons', "EUR", "20", "2.97", "0.59", "3.56"]
    assert rows[4][1:4] == ["credit note", "2026-03-02", ""]
    assert rows[4][6:] == ["10", "-30.00", "-3.00", "-33.00"]

"""One whole quote with every kind of line, worked by hand."""

from decimal import Decimal as D

from clients.trade.payment import PaymentPart, payment_amounts, tax_parts_of_payment
from clients.trade.quoting.client_view import client_lines
from clients.trade.quoting.lines import Basis, LineKind
from clients.trade.quoting.pricing import price_option
from clients.trade.quoting.totals import TaxPart
from tests.clients.trade.films import EVERY_KIND_OF_LINE, FILM, PACE, two_weeks

PRICED = price_option(FILM, EVERY_KIND_OF_LINE, PACE, two_weeks, currency="EUR")


def test_every_kind_of_line_and_every_basis_stands_on_it():
    lines = [one.line for one in PRICED.lines]
    assert {line.kind for line in lines} == set(LineKind)
    assert {line.basis for line in lines} == set(Basis)
    assert len({part.rate for part in PRICED.totals.taxes}) == 2
    assert any(line.hidden for line in lines)
    assert any(line.optional for line in lines)
    assert any(line.kind == LineKind.LICENCE and line.basis == Basis.PERCENT for line in lines)


def test_the_work_is_what_pencil_and_paper_give():
    # Opening: 240 frames - 48 held - 24 reused = 168, on twos 84, one hold: 85. Chase: 120 + 8.
    assert PRICED.work.frames == 360
    assert PRICED.work.pictures_by_difficulty == {"easy": 85, "hard": 128}
    assert PRICED.work.hours_by_difficulty == {"easy": 5, "hard": 16}
    assert PRICED.work.setups == 5
    assert (PRICED.days.even, PRICED.days.chosen) == (14, 18)


def test_every_line_is_what_pencil_and_paper_give():
    assert [(one.line.label, one.quantity, one.amount) for one in PRICED.lines] == [
        ("Storyboard", D(3), D("1140.00")),
        ("Puppets", D(2), D("1281.00")),
        ("Animator", D(14), D("5880.00")),
        ("Assistant", D(14), D("2940.00")),
        ("Contingency", D(4), D("2520.00")),  # 18 - 14 days at 420 + 210
        ("Set-ups", D(5), D("425.00")),
        ("Clean-up", D("17.75"), D("674.50")),  # 213 pictures, 12 an hour
        ("Edit", D("2.5"), D("975.00")),
        ("Grade", None, D("350.00")),
        ("Sound", D("8.50"), D("850.00")),  # PERT worked example 5, 8, 14: 8.5 (verified)
        ("Felt, wire, paint", None, D("128.10")),
        ("Stage", D(18), D("819.90")),
        ("Train", D(3), D("298.05")),
        ("Licence", None, D("2285.19")),  # 12.5 % of 18281.55 is 2285.19375
        ("Making-of", None, D("600.00")),
        ("Returning client", None, D("-1028.34")),  # 5 % of 20566.74 is 1028.337
    ]


def test_the_totals_are_what_pencil_and_paper_give():
    sums = PRICED.totals
    assert sums.lines == D("20566.74")
    assert sums.discounts == D("1028.34")
    assert sums.net == D("19538.40")
    # The discount lowers 426.15 at 10 % by 21.31 and 20140.59 at 20 % by 1007.03.
    assert sums.taxes == (
        TaxPart(D(20), D("19133.56"), D("3826.71")),
        TaxPart(D(10), D("404.84"), D("40.48")),
    )
    assert sums.tax == D("3867.19")
    assert sums.gross == D("23405.59")


def test_the_client_sees_animation_as_one_line_and_the_same_sum():
    shown = client_lines(PRICED.lines)
    assert [(one.label, one.amount) for one in shown] == [
        ("Storyboard", D("1140.00")),
        ("Puppets", D("1281.00")),
        ("Animation", D("11765.00")),  # 5880 + 2940 + 2520 + 425
        ("Clean-up", D("674.50")),
        ("Edit", D("975.00")),
        ("Grade", D("350.00")),
        ("Sound", D("850.00")),
        ("Felt, wire, paint", D("128.10")),
        ("Stage", D("819.90")),
        ("Train", D("298.05")),
        ("Licence", D("2285.19")),
        ("Making-of", D("600.00")),
        ("Returning client", D("-1028.34")),
    ]
    assert shown[2].includes == ("Animator", "Assistant", "Set-ups")


def test_the_payment_plan_is_what_pencil_and_paper_give():
    parts = [
        PaymentPart("on acceptance", percent=D(30)),
        PaymentPart("at picture lock", percent=D(40)),
        PaymentPart("on delivery", percent=D(30)),
    ]
    # 7021.677, 9362.236, 7021.677: two cents are left for the largest remainders.
    amounts = payment_amounts(PRICED.totals.gross, parts, "EUR")
    assert amounts == (D("7021.68"), D("9362.23"), D("7021.68"))
    # Of 7021.68, tax is 3826.71 and 40.48 × 7021.68 / 23405.59; the other 5861.53 is split as
    # 19133.56 to 404.84: 5740.0777 and 121.4523.
    assert tax_parts_of_payment(PRICED.totals, amounts, 0) == (
        TaxPart(D(20), D("5740.08"), D("1148.01")),
        TaxPart(D(10), D("121.45"), D("12.14")),
    )

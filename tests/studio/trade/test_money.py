from decimal import Decimal

import iso4217
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.trade.money import MINOR_UNITS, MoneyError, minor_units, quantize, split

D = Decimal


# ISO 4217 list one.
@pytest.mark.parametrize(
    ("codes", "digits"),
    [
        ("JPY KRW ISK CLP VND XOF", 0),
        ("EUR USD GBP HUF RSD PLN", 2),
        ("KWD BHD TND IQD JOD LYD OMR", 3),
        ("CLF UYW", 4),
    ],
)
def test_currencies_have_the_minor_units_of_the_standard(codes, digits):
    assert {minor_units(code) for code in codes.split()} == {digits}


def test_the_table_is_the_published_one_row_for_row():
    # The list of ISO 4217 as packaged in `iso4217`; metals and testing codes have no minor unit.
    published = {c.code: c.exponent for c in iso4217.Currency if c.exponent is not None}
    assert published == MINOR_UNITS


@pytest.mark.parametrize("code", ["XYZ", "eur", "", "XAU", "DEM", "EURO"])
def test_a_code_that_is_no_active_currency_is_refused(code):
    with pytest.raises(MoneyError, match="not an active currency code"):
        minor_units(code)


# Python's `decimal` documentation, ROUND_HALF_UP: ties go away from zero.
@pytest.mark.parametrize(
    ("amount", "code", "rounded"),
    [
        ("1.005", "EUR", "1.01"),
        ("2.675", "EUR", "2.68"),
        ("-1.005", "EUR", "-1.01"),
        ("0.5", "JPY", "1"),
        ("2.5", "JPY", "3"),
        ("1.0005", "KWD", "1.001"),
        ("7", "EUR", "7.00"),
    ],
)
def test_amounts_round_half_up_to_the_minor_unit(amount, code, rounded):
    assert str(quantize(D(amount), code)) == rounded


def test_an_amount_that_is_no_number_is_refused():
    for amount in (D("NaN"), D("Infinity")):
        with pytest.raises(MoneyError, match="must be a number"):
            quantize(amount, "EUR")


def test_an_amount_beyond_all_reason_is_refused():
    with pytest.raises(MoneyError, match="stops at 1,000,000,000,000,000"):
        quantize(D("1e30"), "EUR")


def test_the_largest_remainder_matches_a_published_apportionment():
    # The 1790 census apportioned to 60 seats, in Electowiki's "Hamilton method".
    people_and_seats = {
        "Virginia": (630560, 11),
        "Massachusetts": (475327, 8),
        "Pennsylvania": (432879, 7),
        "North Carolina": (353523, 6),
        "New York": (331589, 6),
        "Maryland": (278514, 5),
        "Connecticut": (236841, 4),
        "South Carolina": (206236, 3),
        "New Jersey": (179570, 3),
        "New Hampshire": (141822, 2),
        "Vermont": (85533, 1),
        "Georgia": (70835, 1),
        "Kentucky": (68705, 1),
        "Rhode Island": (68446, 1),
        "Delaware": (55540, 1),
    }
    people = [each for each, _ in people_and_seats.values()]
    seats = [each for _, each in people_and_seats.values()]
    assert split(D(60), people, "JPY") == seats


@pytest.mark.parametrize(
    ("total", "weights", "code", "parts"),
    [
        ("100.00", [1, 1, 1], "EUR", ["33.34", "33.33", "33.33"]),
        ("10000", [1, 1, 1], "JPY", ["3334", "3333", "3333"]),
        ("0.02", [1, 1, 1], "EUR", ["0.01", "0.01", "0.00"]),
        ("-100.00", [1, 1, 1], "EUR", ["-33.34", "-33.33", "-33.33"]),
        ("1.000", [1, 2], "KWD", ["0.333", "0.667"]),
        ("99.99", [D("0.4"), D("0.3"), D("0.3")], "EUR", ["39.99", "30.00", "30.00"]),
        ("5", [0, 1], "EUR", ["0.00", "5.00"]),
        ("0", [1, 1], "EUR", ["0.00", "0.00"]),
    ],
)
def test_a_split_adds_up_and_gives_what_is_over_to_the_neediest(total, weights, code, parts):
    assert list(map(str, split(D(total), weights, code))) == parts


@pytest.mark.parametrize(
    ("total", "weights", "said"),
    [
        ("1", [1, -1], "cannot be negative"),
        ("1", [0, 0], "more than 0"),
        ("1", [], "more than 0"),
        ("1.005", [1, 1], r"finer than the currency; round it to 1\.01"),
        ("1", [D("NaN")], "must be a number"),
    ],
)
def test_a_split_that_makes_no_sense_is_refused(total, weights, said):
    with pytest.raises(MoneyError, match=said):
        split(D(total), weights, "EUR")


WEIGHTS = st.lists(
    st.integers(0, 10**6) | st.decimals(0, 1000, places=3), min_size=1, max_size=12
).filter(any)


@given(st.integers(-(10**12), 10**12), WEIGHTS, st.sampled_from(["EUR", "JPY", "KWD", "CLF"]))
def test_parts_always_add_up_and_none_is_off_by_a_whole_unit(units, weights, code):
    unit = D(1).scaleb(-minor_units(code))
    total = units * unit
    parts = split(total, weights, code)
    assert sum(parts) == total
    whole = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / whole) < unit

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.trade.quoting.totals import TaxedAmount, totals

NO_DISCOUNT = ()


@pytest.mark.parametrize(
    ("line", "tax"),
    [
        # EN 16931 BR-CO-17 (verified): tax on the sum of a rate, not line by line.
        (D("0.99"), D("0.59")),  # per line it would be 0.60
        (D("1.12"), D("0.67")),  # per line it would be 0.66
    ],
)
def test_tax_is_taken_of_the_sum_of_a_rate(line, tax):
    sums = totals([TaxedAmount(line, D(20))] * 3, NO_DISCOUNT, "EUR")
    assert sums.tax == tax


@pytest.mark.parametrize(
    ("base", "rate", "tax"),
    [
        ("0.10", "5", "0.01"),  # 0.005
        ("0.30", "5", "0.02"),  # 0.015
        ("1.00", "0.5", "0.01"),  # 0.005
        ("20.10", "2.5", "0.50"),  # 0.5025
    ],
)
def test_half_a_cent_of_tax_rounds_up_in_each_rate(base, rate, tax):
    # Python documentation, decimal: half-up 0.005 is 0.01 where half-even gives 0.00 (computed)
    sums = totals([TaxedAmount(D(base), D(rate))], NO_DISCOUNT, "EUR")
    assert str(sums.tax) == tax


def test_two_rates_at_half_a_cent_round_each_on_its_own():
    sums = totals([TaxedAmount(D("0.10"), D(5)), TaxedAmount(D("0.05"), D(10))], (), "EUR")
    assert [str(part.tax) for part in sums.taxes] == ["0.01", "0.01"]
    assert sums.gross == D("0.17")


@pytest.mark.parametrize(("currency", "tax"), [("JPY", "10"), ("EUR", "9.99"), ("KWD", "9.990")])
def test_tax_has_the_decimals_of_its_currency(currency, tax):
    # ISO 4217: 0, 2 and 3 decimals (verified in a packaged list)
    base = {"JPY": D(100), "EUR": D("99.90"), "KWD": D("99.900")}[currency]
    assert str(totals([TaxedAmount(base, D(10))], (), currency).tax) == tax


amounts = st.lists(
    st.builds(
        TaxedAmount,
        st.integers(0, 10**8).map(lambda cents: D(cents).scaleb(-2)),
        st.sampled_from([D(0), D("5.5"), D(7), D(19), D(20)]),
    ),
    max_size=20,
)


@given(amounts, amounts)
def test_totals_keep_the_rules_of_en_16931(lines, discounts):
    sums = totals(lines, discounts, "EUR")
    assert sums.lines == sum(one.amount for one in lines)  # BR-CO-10 (verified)
    assert sums.net == sums.lines - sums.discounts  # BR-CO-13 (from memory)
    assert sums.gross == sums.net + sums.tax  # BR-CO-15 (verified)
    assert sum(part.base for part in sums.taxes) == sums.net
    for part in sums.taxes:
        assert abs(part.tax - part.base * part.rate / 100) <= D("0.005")  # BR-CO-17 (verified)

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.trade.quoting.client_view import client_lines
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, Counts, Licence, LineKind, price_lines
from clients.trade.quoting.pricing import price_option, totals_of
from clients.trade.quoting.three_point import ThreePoint
from tests.clients.trade.films import FILM, PACE, line, two_weeks

COUNTS = Counts(days_even=14, days_chosen=18, pictures=213, setups=5)
FIXED = {"kind": LineKind.OTHER, "basis": Basis.FIXED}
DISCOUNT = {"kind": LineKind.DISCOUNT, "basis": Basis.FIXED}


def amounts(*lines, currency="EUR"):
    return [one.amount for one in price_lines(lines, COUNTS, currency)]


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"rate": D(0)}, "rate"),
        ({"rate": D(-1)}, "rate"),
        ({"rate": None}, "rate"),
        ({"rate": D("NaN")}, "rate"),
        ({"rate": 19.99}, "rate"),
        ({"rate": D(10) ** 20}, "rate"),
        ({"tax_rate": D(101)}, "tax_rate"),
        ({"tax_rate": D(-1)}, "tax_rate"),
        ({"kind": LineKind.EDIT}, "quantity"),
        ({"kind": LineKind.EDIT, "quantity": D(-1)}, "quantity"),
        ({"kind": LineKind.LICENCE, "basis": Basis.FIXED}, "licence"),
        (
            {"kind": LineKind.LICENCE, "basis": Basis.FIXED, "licence": Licence("", "web", "1 y")},
            "licence",
        ),
        ({"kind": LineKind.SOUND, "basis": Basis.PERCENT, "rate": D(101)}, "rate"),
        ({"kind": LineKind.SOUND, "basis": Basis.PERCENT, "rate": D(-1)}, "rate"),
        ({"kind": LineKind.CLEANUP, "basis": Basis.QUANTITY}, "pictures_per_hour"),
        (
            {"kind": LineKind.CLEANUP, "basis": Basis.QUANTITY, "pictures_per_hour": D(0)},
            "pictures_per_hour",
        ),
        ({"kind": LineKind.DISCOUNT}, "basis"),
        ({**DISCOUNT, "hidden": True}, "hidden"),
        ({**DISCOUNT, "optional": True}, "optional"),
    ],
)
def test_a_line_that_cannot_be_is_refused_with_a_sentence_about_its_entry(entries, field):
    with pytest.raises(QuoteError) as refused:
        price_lines([line(**entries), line("next", **FIXED)], COUNTS, "EUR")
    assert refused.value.field == field
    assert refused.value.sentence.endswith(".")


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ([line("All of nothing", LineKind.OTHER, Basis.PERCENT, D(10))], "of"),
        (
            [
                line("a", rate=D(100), **FIXED),
                line("b", LineKind.OTHER, Basis.PERCENT, D(10), of=(LineKind.SOUND,)),
            ],
            "of",
        ),
        ([line("a", rate=D(100), **FIXED), line("off", rate=D("100.01"), **DISCOUNT)], "rate"),
        ([line("off", rate=D(1), **DISCOUNT)], "rate"),
        ([line("Contingency", LineKind.CONTINGENCY, rate=None)], "rate"),
        ([line("a", rate=D("0.005"), **FIXED)], "rate"),
    ],
)
def test_lines_that_cannot_stand_together_are_refused(lines, field):
    with pytest.raises(QuoteError) as refused:
        price_lines(lines, COUNTS, "EUR")
    assert refused.value.field == field


def test_discounts_that_overlap_beyond_the_lines_they_lower_are_refused():
    lines = [
        line("Sound", LineKind.SOUND, Basis.FIXED, D(100)),
        line("all off", LineKind.DISCOUNT, Basis.PERCENT, D(100)),
        line("sound off", LineKind.DISCOUNT, Basis.PERCENT, D(10), of=(LineKind.SOUND,)),
    ]
    with pytest.raises(QuoteError) as refused:
        price_option(FILM, lines, PACE, two_weeks, currency="EUR")
    assert refused.value.field == "lines"


def test_a_percent_line_counts_only_what_stands_above_it():
    percent = line("Producer", LineKind.OTHER, Basis.PERCENT, D(10))
    edit = line("Edit", LineKind.EDIT, Basis.FIXED, D(200))
    sound = line("Sound", LineKind.SOUND, Basis.FIXED, D(300))
    assert amounts(edit, percent, sound) == [D(200), D(20), D(300)]
    assert amounts(edit, sound, percent) == [D(200), D(300), D(50)]


def test_optional_lines_are_outside_percentages_and_the_total():
    extra = line("Extra", LineKind.OTHER, Basis.FIXED, D(300), optional=True)
    edit = line("Edit", LineKind.EDIT, Basis.FIXED, D(200))
    percent = line("Producer", LineKind.OTHER, Basis.PERCENT, D(10))
    priced = price_lines([edit, extra, percent], COUNTS, "EUR")
    assert [one.amount for one in priced] == [D(200), D(300), D(20)]
    assert totals_of(priced, "EUR").net == D(220)


@pytest.mark.parametrize(
    ("currency", "price", "amount"),
    [
        # ISO 4217: JPY has no minor unit, EUR 2, KWD 3 (verified in a packaged list)
        ("JPY", "33.5", "101"),  # 100.5 rounds half up
        ("EUR", "33.335", "100.01"),  # 100.005 rounds half up
        ("KWD", "33.3335", "100.001"),  # 100.0005 rounds half up
    ],
)
def test_a_line_is_rounded_half_up_to_the_coins_of_its_currency(currency, price, amount):
    one = line("Prop", LineKind.BUILDS, Basis.QUANTITY, D(price), quantity=D(3))
    assert [str(value) for value in amounts(one, currency=currency)] == [amount]


def test_confidence_at_even_chance_makes_contingency_nothing():
    counts = Counts(14, 14, 213, 5)
    lines = [line(), line("Contingency", LineKind.CONTINGENCY, rate=None)]
    assert [one.amount for one in price_lines(lines, counts, "EUR")] == [D(5600), D(0)]


def test_three_point_quantities_out_of_order_are_refused():
    with pytest.raises(QuoteError):
        ThreePoint(D(5), D(4), D(8))


def test_two_tax_rates_in_a_folded_group_show_two_lines():
    lines = [
        line("Felt", LineKind.MATERIALS, Basis.FIXED, D(10), tax_rate=D(10), hidden=True),
        line("Wire", LineKind.MATERIALS, Basis.FIXED, D(20), tax_rate=D(10)),
        line("Glue", LineKind.MATERIALS, Basis.FIXED, D(40), tax_rate=D(20)),
        line("Note", LineKind.MATERIALS, Basis.FIXED, D(80), hidden=True, optional=True),
    ]
    shown = client_lines(price_lines(lines, COUNTS, "EUR"))
    assert [(one.label, one.amount, one.tax_rate) for one in shown] == [
        ("Materials, hire and travel", D(30), D(10)),
        ("Glue", D(40), D(20)),
    ]


def test_a_group_folded_at_two_rates_says_which_is_which():
    lines = [
        line("Felt", LineKind.MATERIALS, Basis.FIXED, D(10), tax_rate=D("5.50"), hidden=True),
        line("Wire", LineKind.MATERIALS, Basis.FIXED, D(20), tax_rate=D(20), hidden=True),
        line("Glue", LineKind.MATERIALS, Basis.FIXED, D(40), tax_rate=D(20)),
    ]
    shown = client_lines(price_lines(lines, COUNTS, "EUR"))
    assert [(one.label, one.amount, one.includes) for one in shown] == [
        ("Materials, hire and travel, at 5.5 % tax", D(10), ()),
        ("Materials, hire and travel, at 20 % tax", D(60), ("Glue",)),
    ]


fixed_lines = st.builds(
    line,
    label=st.sampled_from(["Felt", "Wire", "Glue"]),
    kind=st.sampled_from([LineKind.EDIT, LineKind.SOUND, LineKind.MATERIALS, LineKind.OTHER]),
    basis=st.just(Basis.FIXED),
    rate=st.integers(0, 10**7).map(lambda cents: D(cents).scaleb(-2)),
    tax_rate=st.sampled_from([D(0), D("5.5"), D(10), D(20)]),
    hidden=st.booleans(),
    optional=st.booleans(),
)
discounts = st.builds(
    line,
    label=st.just("Off"),
    kind=st.just(LineKind.DISCOUNT),
    basis=st.just(Basis.PERCENT),
    rate=st.integers(0, 100).map(D),
)


@given(st.lists(fixed_lines, min_size=1, max_size=12), discounts)
def test_hidden_lines_never_change_the_total(lines, discount):
    first = line("First", LineKind.OTHER, Basis.FIXED, D(1))
    lines = [first, *lines, discount]
    priced = price_lines(lines, COUNTS, "EUR")
    shown = client_lines(priced)
    net = totals_of(priced, "EUR").net
    assert sum(one.amount for one in shown if not one.optional) == net


@given(st.lists(fixed_lines, min_size=1, max_size=12), discounts)
def test_a_discount_is_shared_by_the_tax_rates_to_the_cent(lines, discount):
    first = line("First", LineKind.OTHER, Basis.FIXED, D(1))
    off = price_lines([first, *lines, discount], COUNTS, "EUR")[-1]
    assert sum((part.amount for part in off.taxed), D(0)) == off.amount
    sums = totals_of(price_lines([first, *lines, discount], COUNTS, "EUR"), "EUR")
    assert all(part.base >= 0 for part in sums.taxes)

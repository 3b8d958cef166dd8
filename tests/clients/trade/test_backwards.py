from decimal import Decimal as D
from fractions import Fraction

import pytest

from clients.trade.quoting.backwards import one_more_second, usual_exposure, what_fits
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, LineKind
from clients.trade.quoting.pricing import price_option
from tests.clients.trade.films import (
    EVERY_KIND_OF_LINE,
    FILM,
    PACE,
    a_day_for_seven_hours,
    line,
    two_weeks,
)


def test_one_more_second_costs_its_share_of_labour_and_clean_up():
    priced = price_option(FILM, EVERY_KIND_OF_LINE, PACE, two_weeks, currency="EUR")
    # Labour 5880 + 2940 + 2520 = 11340 over 21 hours is 540 an hour; clean-up 674.50 / 213.
    # On twos a second is 12 pictures: 12/17 h × 540 + 12 × 3.16667 = 381.18 + 38.00
    assert one_more_second(priced, PACE, 2) == {"easy": D("419.18"), "hard": D("848.00")}


def test_the_usual_exposure_is_the_one_most_of_the_film_has():
    assert usual_exposure(FILM) == 2


LINES = [
    line("Fixed", LineKind.BUILDS, Basis.FIXED, D(1000)),
    line(),
    line("Contingency", LineKind.CONTINGENCY, rate=None),
]


def fits(budget, **more):
    return what_fits(
        D(budget),
        LINES,
        {"easy": D(24), "hard": D(6)},
        a_day_for_seven_hours,
        rate=Fraction(24),
        exposures=[1, 2],
        seconds_per_setup=D(5),
        currency="EUR",
        **more,
    )


def test_what_fits_a_budget_is_found_for_each_exposure_and_difficulty():
    # 3400 less 1000 pays for 6 days at 400. Chosen days are ceil(3 h / 14): at most 28 hours, which
    # are 672 easy pictures (28 s on ones, 56 s on twos) or 168 hard ones (7 s and 14 s).
    found = [(fit.exposure, fit.difficulty, fit.seconds, fit.net) for fit in fits(3400)]
    assert found == [
        (1, "easy", 28, D(3400)),
        (1, "hard", 7, D(3400)),
        (2, "easy", 56, D(3400)),
        (2, "hard", 14, D(3400)),
    ]


def test_where_only_some_fit_the_others_say_none():
    # One day at even chance or chosen: 1400 pays 4 h 40 min: 112 easy pictures, 28 hard ones.
    assert [(fit.seconds, fit.pictures) for fit in fits(1400)] == [
        (4, 96),
        (1, 24),
        (9, 108),
        (2, 24),
    ]


@pytest.mark.parametrize("budget", [0, -5])
def test_a_budget_of_nothing_is_refused(budget):
    with pytest.raises(QuoteError):
        fits(budget)


def test_a_budget_nothing_fits_is_told_the_cheapest_second():
    with pytest.raises(QuoteError) as refused:
        fits(1399)
    assert refused.value.field == "budget"
    assert "1400" in refused.value.sentence


def test_a_film_stops_at_ten_minutes_however_large_the_budget():
    assert max(fit.seconds for fit in fits(10**9)) == 600

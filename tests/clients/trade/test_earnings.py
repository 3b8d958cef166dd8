"""What a film earned against its quote, and the pace the next quote should assume."""

from decimal import Decimal as D

from clients.trade.earnings import (
    Account,
    CostLine,
    Done,
    agreement,
    cost_lines,
    earnings,
    earnings_of,
    hours_off_set,
    next_paces,
)
from clients.trade.quoting.lines import LineKind
from clients.trade.quoting.pricing import price_option
from shots.trade.measured_pace import PaceRecord
from tests.clients.trade.films import EVERY_KIND_OF_LINE, FILM, PACE, line, two_weeks

QUOTED = Account(D(18), D(126), D(14), 1200, D("9000.00"), {"materials": D("400.00")})
ACTUAL = Account(
    D(22), D(150), D(20), 1310, D("9600.00"), {"materials": D("510.00"), "travel": D("80.00")}
)
AGREED = agreement(price_option(FILM, EVERY_KIND_OF_LINE, PACE, two_weeks, currency="EUR"))


def test_a_film_is_compared_with_its_quote_figure_by_figure():
    rows = earnings(QUOTED, ACTUAL, "EUR").rows
    assert [(row.label, row.quoted, row.actual, row.change, row.percent) for row in rows] == [
        ("days", D(18), D(22), D(4), D("22.2")),
        ("hours on the set", D(126), D(150), D(24), D("19.0")),
        ("hours off the set", D(14), D(20), D(6), D("42.9")),
        ("pictures", D(1200), D(1310), D(110), D("9.2")),
        ("pictures an hour on the set", D("9.52"), D("8.73"), D("-0.79"), D("-8.3")),
        ("income", D("9000.00"), D("9600.00"), D("600.00"), D("6.7")),
        ("materials", D("400.00"), D("510.00"), D("110.00"), D("27.5")),
        ("travel", D(0), D("80.00"), D("80.00"), None),
        ("left after costs", D("8600.00"), D("9010.00"), D("410.00"), D("4.8")),
    ]


def test_an_hour_earned_what_was_left_over_the_hours_worked():
    result = earnings(QUOTED, ACTUAL, "EUR")
    assert (result.hour_quoted, result.hour_earned) == (D("61.43"), D("53.00"))


def test_no_hours_earn_no_hourly_figure():
    nothing = Account(D(0), D(0), D(0), 0, D(0), {})
    assert earnings(QUOTED, nothing, "EUR").hour_earned is None


def test_lines_that_may_have_cost_something_are_all_but_labour_licence_and_discount():
    assert [(one.label, one.quoted, one.bought) for one in cost_lines(AGREED, {})] == [
        ("Storyboard", D("1140.00"), False),
        ("Puppets", D("1281.00"), False),
        ("Set-ups", D("425.00"), False),
        ("Clean-up", D("674.50"), False),
        ("Edit", D("975.00"), False),
        ("Grade", D("350.00"), False),
        ("Sound", D("850.00"), False),
        ("Felt, wire, paint", D("128.10"), True),
        ("Stage", D("819.90"), True),
        ("Train", D("298.05"), True),
    ]


def test_lines_of_the_same_name_are_one_cost_and_others_follow():
    twice = (
        line(),
        line("Felt", LineKind.MATERIALS, "fixed", D(30)),
        line("Felt", LineKind.BUILDS, "fixed", D(12)),
    )
    priced = price_option(FILM, twice, PACE, two_weeks, currency="EUR")
    assert cost_lines(agreement(priced), {"Taxi": D(9)}) == (
        CostLine("Felt", D(42), None, bought=True),
        CostLine("Taxi", None, D(9)),
    )


def test_hours_off_the_set_are_days_clean_up_and_amounts_at_the_day_rate():
    # 3 storyboard + 2.5 edit + 8.5 sound days of 7 hours, and 17.75 hours of clean-up; puppets of
    # 1281 and grade of 350 at 420 a day of 7 hours.
    assert hours_off_set(AGREED, [], D(7)) == D("142.9")


def test_what_others_did_takes_no_hours():
    costs = cost_lines(AGREED, {"Puppets": D(900), "Sound": D(600)})
    # 3 + 2.5 days of 7 hours, 17.75 hours of clean-up, grade of 350 at 420 a day.
    assert hours_off_set(AGREED, costs, D(7)) == D("62.1")


def test_without_a_day_rate_an_amount_says_nothing_of_hours():
    lines = (line(basis="fixed"), line("Edit", LineKind.EDIT, "fixed", D(400)))
    priced = price_option(FILM, lines, PACE, two_weeks, currency="EUR")
    assert hours_off_set(agreement(priced), [], D(7)) == 0


def test_what_nobody_has_said_counts_as_quoted():
    costs = cost_lines(AGREED, {})
    result = earnings_of(AGREED, Done(16, D(120), None, 220), costs, D(7))
    bought = {"Felt, wire, paint": D("128.10"), "Stage": D("819.90"), "Train": D("298.05")}
    assert result.quoted.costs == result.actual.costs == bought
    assert result.actual.hours_off_set == result.quoted.hours_off_set == D("142.9")
    # 19538.40 - 1246.05 is 18292.35: over 14 × 7 + 142.9, and over 120 + 142.9 hours.
    assert (result.hour_quoted, result.hour_earned) == (D("75.93"), D("69.58"))


def test_what_was_said_counts_and_a_line_done_by_others_becomes_a_cost_on_both_sides():
    costs = cost_lines(AGREED, {"Sound": D(600), "Stage": D(0), "Taxi": D(45)})
    result = earnings_of(AGREED, Done(14, D(98), D(100), 213), costs, D(7))
    assert result.quoted.costs["Sound"] == D("850.00")
    assert (result.actual.costs["Sound"], result.actual.costs["Stage"]) == (600, 0)
    assert (result.quoted.costs["Taxi"], result.actual.costs["Taxi"]) == (0, 45)
    # 19538.40 - (600 + 128.10 + 0 + 298.05 + 45), over 98 + 100 hours.
    assert result.hour_earned == D("93.27")


def test_a_long_record_outweighs_the_assumption_and_a_short_one_does_not():
    def pace(hours):
        record = PaceRecord("hard", 6 * hours, D(hours), hours // 5)
        return next_paces({"hard": record}, {"hard": D(12)})[0].pace

    assert pace(5) == D("10.80")  # (30 + 240) / 25
    assert pace(20) == D("9.00")  # (120 + 240) / 40
    assert pace(380) == D("6.30")  # (2280 + 240) / 400


def test_the_next_pace_is_the_mean_of_a_gamma_poisson_update():
    # Bayesian Data Analysis 3e 2.6 (verified in a second text): Gamma(a, b), count y over x has
    # mean (a + y) / (b + x). Gamma(40, 20) is 2 an hour assumed; 30 pictures in 20 hours: 70 / 40.
    record = PaceRecord("hard", 30, D(20), 4)
    assert next_paces({"hard": record}, {"hard": D(2)})[0].pace == D("1.75")


def test_what_stands_behind_a_pace_is_said():
    records = {"easy": PaceRecord("easy", 1000, D(50), 9)}
    hard, easy = next_paces(records, {"hard": D(6)})
    assert (easy.pace, easy.words) == (D("20.00"), "1,000 pictures in 9 sessions")
    assert (hard.pace, hard.words) == (D("6.00"), "assumed; nothing measured yet")
    both = next_paces(records, {"easy": D(10)})[0]
    assert both.words == "1,000 pictures in 9 sessions, together with the 10 assumed"

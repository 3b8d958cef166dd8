from decimal import Decimal as D

from clients.trade.earnings import Account, earnings, next_paces
from shots.trade.measured_pace import PaceRecord

QUOTED = Account(D(18), D(140), 1200, D("9000.00"), {"materials": D("400.00")})
ACTUAL = Account(
    D(22), D(170), 1310, D("9600.00"), {"materials": D("510.00"), "travel": D("80.00")}
)


def test_a_film_is_compared_with_its_quote_figure_by_figure():
    rows = earnings(QUOTED, ACTUAL, "EUR").rows
    assert [(row.label, row.quoted, row.actual, row.change, row.percent) for row in rows] == [
        ("days", D(18), D(22), D(4), D("22.2")),
        ("hours", D(140), D(170), D(30), D("21.4")),
        ("pictures", D(1200), D(1310), D(110), D("9.2")),
        ("pictures an hour", D("8.57"), D("7.71"), D("-0.86"), D("-10.0")),
        ("income", D("9000.00"), D("9600.00"), D("600.00"), D("6.7")),
        ("materials", D("400.00"), D("510.00"), D("110.00"), D("27.5")),
        ("travel", D(0), D("80.00"), D("80.00"), None),
        ("left after costs", D("8600.00"), D("9010.00"), D("410.00"), D("4.8")),
    ]


def test_an_hour_earned_what_was_left_over_the_hours_worked():
    result = earnings(QUOTED, ACTUAL, "EUR")
    assert (result.hour_quoted, result.hour_earned) == (D("61.43"), D("53.00"))


def test_no_hours_earn_no_hourly_figure():
    nothing = Account(D(0), D(0), 0, D(0), {})
    assert earnings(QUOTED, nothing, "EUR").hour_earned is None


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

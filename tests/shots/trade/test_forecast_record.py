"""The record of promises: calibration, the plain word, and when it may correct."""

from statistics import NormalDist

import pytest

from shots.trade.forecast_record import (
    Correction,
    Place,
    Promise,
    binomial_at_most,
    calibration,
    correction,
    randomised_place,
    trust,
)


def record(held: int, of: int, said: float = 0.8) -> list[Promise]:
    return [Promise(f"film {n}", said, n < held) for n in range(of)]


@pytest.mark.parametrize(
    ("count", "of", "chance", "probability"),
    [
        # 20 forecasts at 80 % (binomial).
        (12, 20, 0.8, 0.0321),
        (13, 20, 0.8, 0.0867),
        # 250 days at 1 %: the zones of the Basel backtesting rules, 1996 (from a secondary text).
        (4, 250, 0.01, 0.8922),
        (9, 250, 0.01, 0.9997),
    ],
)
def test_binomial_rows(count, of, chance, probability):
    assert binomial_at_most(count, of, chance) == pytest.approx(probability, abs=0.00005)


def test_the_calibration_picture_has_a_row_for_each_band_said():
    rows = calibration([*record(31, 41), *record(1, 4, said=0.1)])
    assert [(row.low, row.high, row.promises) for row in rows] == [(0, 0.2, 4), (0.75, 0.85, 41)]
    assert rows[1].said == pytest.approx(0.8)
    assert rows[1].happened == pytest.approx(31 / 41)


def test_a_promise_said_for_certain_falls_in_the_last_band():
    (row,) = calibration(record(3, 3, said=1.0))
    assert (row.low, row.high) == (0.95, 1.0)


def test_a_production_counts_once_however_many_evenings_it_had():
    evenings = [Promise("long film", 0.8, False)] * 30 + [Promise("short film", 0.8, True)]
    (row,) = calibration(evenings)
    assert (row.promises, row.productions, row.happened) == (31, 2, 0.5)


def test_the_word_needs_eight_productions():
    assert trust([]).word == "too early"
    assert trust(record(0, 7)).word == "too early"


def test_a_record_within_luck_is_trusted():
    said = trust(record(31, 41))
    assert said.word == "trust it"
    assert said.sentence == "Said 80 %, happened 76 %, of 41: as good as its word."


def test_a_record_beyond_luck_is_not():
    # 11 of 20 at 80 %: P(≤ 11) is 0.010, below 0.025; 12 of 20 is 0.032 and still luck.
    assert trust(record(12, 20)).word == "trust it"
    assert trust(record(11, 20)).word == "too hopeful"
    # 20 of 20 at 80 %: P(no miss) = 0.8^20 = 0.0115.
    assert trust(record(20, 20)).word == "too careful"


def test_whole_days_are_placed_at_random_within_their_day():
    samples = [3, 4, 4, 4, 5]
    assert randomised_place(samples, 4, 0.0) == pytest.approx(0.2)
    assert randomised_place(samples, 4, 0.5) == pytest.approx(0.5)
    assert randomised_place(samples, 4, 1.0) == pytest.approx(0.8)
    assert randomised_place(samples, 9, 0.3) == 1.0


def places(scores: list[float]) -> list[Place]:
    return [Place(f"film {n}", NormalDist().cdf(score)) for n, score in enumerate(scores)]


EVEN = [-1.4, -0.9, -0.5, -0.2, 0.2, 0.5, 0.9, 1.4]


def test_nothing_is_corrected_before_eight_productions():
    assert correction(places([2.0] * 7)) is None


def test_nothing_is_corrected_while_luck_explains_the_record():
    assert correction(places(EVEN)) is None
    assert correction(places([score + 0.4 for score in EVEN])) is None


def test_a_record_that_is_always_late_moves_the_promise_later():
    found = correction(places([score + 1.0 for score in EVEN]))
    # Mean 1.0 shrunk by 8 / (8 + 4).
    assert found == Correction(pytest.approx(2 / 3), 1.0)
    assert found.level(0.8) == pytest.approx(NormalDist().cdf(2 / 3 + 0.841621), abs=1e-5)
    assert found.chance(found.level(0.8)) == pytest.approx(0.8)
    assert found.chance(0.8) < 0.6


def test_a_band_that_is_too_narrow_is_widened():
    found = correction(places([score * 2.5 for score in EVEN]))
    assert found.shift == pytest.approx(0, abs=0.02)
    assert 1.5 < found.scale < 2.5
    assert found.level(0.8) > 0.85
    assert found.level(0.2) < 0.15


def test_many_evenings_of_one_production_do_not_make_a_record():
    assert correction([Place("the same film", 0.99)] * 50) is None

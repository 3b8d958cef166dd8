"""Frame rate and constancy from time stamps."""

from fractions import Fraction

import pytest

from clients.trade.checks.timing import Clock


def timing(stamps, tick, stated=None):
    clock = Clock(Fraction(tick), stated)
    for stamp in stamps:
        clock.add(stamp)
    return clock.timing()


# ITU-R BT.709-6 and BT.2020 picture rates.
@pytest.mark.parametrize("rate", ["24", "24000/1001", "25", "30000/1001", "30", "50", "60000/1001"])
@pytest.mark.parametrize("unit", [1000, 90_000])
def test_coarse_stamps_still_name_the_exact_rate(rate, unit):
    rate = Fraction(rate)
    found = timing([round(n * unit / rate) for n in range(240)], Fraction(1, unit))
    assert (found.rate, found.constant, found.duration) == (rate, True, 240 / rate)


def test_a_late_frame_is_named():
    stamps = [n * 512 for n in range(48)]
    stamps[20] += 100
    found = timing(stamps, "1/12288")
    assert (found.constant, found.first_odd_frame) == (False, 20)


def test_a_missing_frame_is_named():
    stamps = [n * 512 for n in range(48) if n != 20]
    assert timing(stamps, "1/12288").first_odd_frame == 20


def test_no_stamps_and_one_frame_rely_on_what_is_stated():
    assert timing([None] * 24, "1/24", Fraction(24)).duration == 1
    assert timing([0], "1/24", Fraction(24)).frames == 1
    assert timing([0], "1/24").rate is None

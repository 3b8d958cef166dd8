"""The spread of days, drawn."""

import pytest

from clients.trade.quoting.spread import spread_of


def test_bars_are_as_high_as_days_are_frequent():
    drawn = spread_of([3, 3, 4, 5, 5, 5], days=(4, 5))
    assert (drawn.first, drawn.last) == (3, 5)
    assert [round(bar.height, 2) for bar in drawn.bars] == [0.67, 0.33, 1.0]
    assert drawn.marks == pytest.approx((2 / 3, 1.0))


def test_many_days_share_bars_and_the_last_hundredth_is_left_out():
    drawn = spread_of([*range(100, 400), *[5000] * 2], days=(250, 350))
    assert len(drawn.bars) <= 40
    assert drawn.last < 500
    assert all(0 <= mark <= 1 for mark in drawn.marks)


def test_one_day_is_one_bar():
    drawn = spread_of([1, 1, 1], days=(1, 1))
    assert [(bar.x, bar.width, bar.height) for bar in drawn.bars] == [(0, 1, 1)]

"""The record's picture: evenings across, promised dates up."""

from datetime import date

import pytest

from shots.trade.promise_plot import Said, promise_plot


def said(evening: int, even: int | None, likely: int | None, deadline: int | None = 18) -> Said:
    def march(day: int | None) -> date | None:
        return None if day is None else date(2026, 3, day)

    return Said(date(2026, 3, evening), march(even), march(likely), march(deadline))


def test_promises_lie_between_the_first_and_last_evening_and_the_dates_said():
    # Dates run from 9 March (a day below the lowest) to 19 March (a day above the deadline).
    plot = promise_plot([said(2, 12, 16), said(4, 10, 14)], date(2026, 3, 11))
    assert plot.even == (pytest.approx((0, 0.3)), pytest.approx((1, 0.1)))
    assert plot.likely == (pytest.approx((0, 0.7)), pytest.approx((1, 0.5)))
    assert plot.deadline == (pytest.approx((0, 0.9)), pytest.approx((1, 0.9)))
    assert plot.finished_y == pytest.approx(0.2)


def test_an_evening_without_a_date_is_left_out_and_none_at_all_draws_nothing():
    plot = promise_plot([said(2, None, None), said(3, 10, 12, None)], None)
    assert len(plot.even) == 1
    assert plot.deadline == ()
    assert plot.finished_y is None
    assert promise_plot([said(2, None, None)], None) is None
    assert promise_plot([], date(2026, 3, 11)) is None

"""Films against their quotes, on one axis."""

from decimal import Decimal as D

import pytest

from clients.trade.earnings_plot import FilmShares, earnings_plot


def test_no_film_draws_nothing():
    assert earnings_plot([]) is None


def test_the_bar_runs_from_as_quoted_to_what_an_hour_earned():
    plot = earnings_plot([FilmShares("FOX", D("1.2"), D("0.9"), D("0.75"))])
    (fox,) = plot.films
    assert plot.quoted_x == pytest.approx(1 / 1.5)
    assert (fox.bar_x, fox.bar_width) == (pytest.approx(0.5), pytest.approx(1 / 6))
    assert (fox.days.x, fox.pace.x) == (pytest.approx(0.8), pytest.approx(0.6))
    assert [float(tick.share) for tick in plot.ticks] == [0, 0.5, 1, 1.5]
    assert fox.sentence == "FOX against its quote: an hour earned 75%, days 120%, pace 90%."


def test_the_axis_reaches_as_far_as_it_must_and_no_further():
    plot = earnings_plot([FilmShares("A", D("1.9"), None, None)])
    assert plot.ticks[-1].share == 2
    far = earnings_plot([FilmShares("A", D(9), D(1), D(1))])
    assert (far.ticks[-1].share, far.films[0].days.x, far.films[0].days.share) == (3, 1.0, 9)


def test_a_loss_is_drawn_at_the_left_end_and_said():
    (film,) = earnings_plot([FilmShares("A", None, None, D("-0.2"))]).films
    assert (film.hour.x, film.bar_x) == (0.0, 0.0)
    assert film.sentence == "A against its quote: an hour earned -20%."


def test_nothing_to_compare_is_said():
    (film,) = earnings_plot([FilmShares("A", None, None, None)]).films
    assert film.bar_width == 0
    assert film.sentence == "A against its quote: nothing to compare."

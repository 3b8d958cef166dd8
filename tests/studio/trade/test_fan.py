from datetime import date

import pytest

from studio.trade.fan import BudgetStep, FanError, ForecastDay, KeptDay, fan

MONDAY = date(2026, 3, 2)


def march(day: int) -> date:
    return date(2026, 3, day)


def test_kept_pictures_rise_over_sessions_and_stay_flat_between_them():
    drawn = fan([KeptDay(march(6), 60), KeptDay(march(2), 40)], [], [], march(11), march(6))
    assert drawn.first_day == march(1)
    assert drawn.last_day == march(11)
    assert drawn.kept == ((0.0, 0.0), (0.1, 40 / 60), (0.4, 40 / 60), (0.5, 1.0))
    assert drawn.today_x == 0.5
    assert drawn.deadline_x == 1.0


def test_sessions_on_days_in_a_row_share_their_points():
    drawn = fan([KeptDay(march(2), 10), KeptDay(march(3), 20)], [], [], None, march(3))
    assert drawn.kept == ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0))


def test_without_sessions_there_is_a_box_and_nothing_in_it():
    drawn = fan([], [], [], None, MONDAY)
    assert (drawn.kept, drawn.budget, drawn.middle, drawn.band) == ((), (), (), ())
    assert [tick.pictures for tick in drawn.picture_ticks] == [0, 1]
    assert [tick.day for tick in drawn.date_ticks] == [march(2), march(3)]


def test_one_session_makes_a_line():
    drawn = fan([KeptDay(MONDAY, 12)], [], [], None, MONDAY)
    assert drawn.kept == ((0.0, 0.0), (1.0, 1.0))


def test_a_deadline_in_the_past_stays_in_the_box():
    drawn = fan([KeptDay(march(6), 10)], [], [], march(3), march(13))
    assert drawn.first_day == march(3)
    assert drawn.deadline_x == 0.0
    assert drawn.today_x == 1.0


def test_a_budget_of_nothing_lies_on_the_floor():
    drawn = fan([], [BudgetStep(MONDAY, 0)], [], None, MONDAY)
    assert drawn.budget == ((0.0, 0.0), (1.0, 0.0))


def test_the_budget_steps_when_it_changes_and_starts_at_the_left_edge():
    drawn = fan(
        [KeptDay(march(2), 10)],
        [
            BudgetStep(march(6), 100),
            BudgetStep(date(2026, 1, 5), 80),
            BudgetStep(date(2026, 1, 9), 50),
        ],
        [],
        march(11),
        march(2),
    )
    assert drawn.budget == ((0.0, 0.5), (0.5, 0.5), (0.5, 1.0), (1.0, 1.0))


def test_the_band_opens_from_the_last_known_day():
    drawn = fan(
        [KeptDay(march(2), 20)],
        [],
        [ForecastDay(march(11), 60, 80, 100), ForecastDay(march(6), 30, 40, 50)],
        None,
        march(2),
    )
    assert drawn.middle == ((0.1, 0.2), (0.5, 0.4), (1.0, 0.8))
    assert drawn.band == ((0.1, 0.2), (0.5, 0.3), (1.0, 0.6), (1.0, 1.0), (0.5, 0.5), (0.1, 0.2))


@pytest.mark.parametrize(
    ("most", "ticks"),
    [
        (1, [0, 1]),
        (6, [0, 1, 2, 3, 4, 5, 6]),
        (7, [0, 2, 4, 6, 8]),
        (13, [0, 5, 10, 15]),
        (740, [0, 200, 400, 600, 800]),
        (1440, [0, 500, 1000, 1500]),
    ],
)
def test_picture_counts_on_the_axis_are_round(most, ticks):
    drawn = fan([], [BudgetStep(MONDAY, most)], [], None, MONDAY)
    assert [tick.pictures for tick in drawn.picture_ticks] == ticks
    assert drawn.picture_ticks[-1].at == 1.0


@pytest.mark.parametrize(
    ("last", "days"),
    [
        (march(5), [march(2), march(3), march(4), march(5)]),
        (march(12), [march(2), march(4), march(6), march(8), march(10), march(12)]),
        (date(2026, 4, 2), [march(2), march(9), march(16), march(23), march(30)]),
    ],
)
def test_dates_on_the_axis_are_days_or_mondays(last, days):
    drawn = fan([], [], [], last, MONDAY)
    assert [tick.day for tick in drawn.date_ticks] == days


@pytest.mark.parametrize("year", [2026, 2027, 2030, 2040, 2126])
def test_there_are_never_more_than_eight_dates(year):
    drawn = fan([], [], [], date(year, 12, 31), MONDAY)
    assert 2 <= len(drawn.date_ticks) <= 8
    assert all(0 <= tick.at <= 1 for tick in drawn.date_ticks)


def test_figures_that_cannot_be_drawn_are_refused():
    with pytest.raises(FanError, match="got -1 on 2026-03-02"):
        fan([KeptDay(MONDAY, -1)], [], [], None, MONDAY)
    with pytest.raises(FanError, match="budget starts at 0"):
        fan([], [BudgetStep(MONDAY, -1)], [], None, MONDAY)
    for low, middle, high in [(5, 4, 6), (float("nan"), 1, 2), (0, 1, float("inf"))]:
        with pytest.raises(FanError, match="must rise from low to high"):
            fan([], [], [ForecastDay(MONDAY, low, middle, high)], None, MONDAY)

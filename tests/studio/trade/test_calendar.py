from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.trade.calendar import CalendarError, WorkCalendar, iso_week

WEEK = frozenset({0, 1, 2, 3, 4})
# Good Friday and Easter Monday 2026 (5 April 2026 is Easter Sunday), and a Saturday off.
EASTER = WorkCalendar(WEEK, frozenset({date(2026, 4, 3), date(2026, 4, 6), date(2026, 4, 11)}), 7.5)


@pytest.mark.parametrize(
    ("day", "working"),
    [
        (date(2026, 4, 2), True),
        (date(2026, 4, 3), False),
        (date(2026, 4, 4), False),
        (date(2026, 4, 6), False),
        (date(2026, 4, 7), True),
    ],
)
def test_a_day_is_worked_on_a_working_weekday_that_is_not_off(day, working):
    assert EASTER.is_working(day) is working


def test_working_days_include_both_ends():
    assert EASTER.working_days(date(2026, 4, 2), date(2026, 4, 8)) == [
        date(2026, 4, 2),
        date(2026, 4, 7),
        date(2026, 4, 8),
    ]
    assert EASTER.working_days(date(2026, 4, 8), date(2026, 4, 2)) == []


@pytest.mark.parametrize(
    ("after", "until", "days"),
    [
        (date(2026, 4, 1), date(2026, 4, 8), 3),
        (date(2026, 4, 2), date(2026, 4, 7), 1),
        (date(2026, 4, 2), date(2026, 4, 2), 0),
        (date(2026, 4, 8), date(2026, 4, 1), 0),
        # 2026 starts on a Thursday: 261 weekdays, less the two days off that fall on one.
        (date(2025, 12, 31), date(2026, 12, 31), 259),
    ],
)
def test_days_are_counted_after_the_first_and_with_the_last(after, until, days):
    assert EASTER.count(after, until) == days


@pytest.mark.parametrize(
    ("day", "n", "reached"),
    [
        (date(2026, 4, 2), 0, date(2026, 4, 2)),
        (date(2026, 4, 4), 0, date(2026, 4, 4)),
        (date(2026, 4, 2), 1, date(2026, 4, 7)),
        (date(2026, 4, 4), 1, date(2026, 4, 7)),
        (date(2026, 4, 2), 5, date(2026, 4, 13)),
    ],
)
def test_the_nth_working_day_after_a_day_passes_over_days_off(day, n, reached):
    assert EASTER.add(day, n) == reached


def test_adding_days_without_a_working_weekday_is_refused():
    idle = WorkCalendar(frozenset(), frozenset(), 7.0)
    assert idle.count(date(2026, 1, 1), date(2026, 12, 31)) == 0
    with pytest.raises(CalendarError, match="mark at least one working weekday"):
        idle.add(date(2026, 1, 1), 1)


def test_the_search_stops_after_twenty_years():
    with pytest.raises(CalendarError, match="more than 20 years ahead"):
        EASTER.add(date(2026, 1, 1), 6000)
    with pytest.raises(CalendarError, match="more than 20 years ahead"):
        EASTER.add(date(9999, 12, 30), 10)


def test_counting_backwards_is_refused():
    with pytest.raises(CalendarError, match="counted forwards, got -1"):
        EASTER.add(date(2026, 1, 1), -1)


@pytest.mark.parametrize("hours", [0, -1, 24.5, float("nan")])
def test_impossible_hours_are_refused(hours):
    with pytest.raises(CalendarError, match="at most 24 hours"):
        WorkCalendar(WEEK, frozenset(), hours)


def test_an_unknown_weekday_is_refused():
    with pytest.raises(CalendarError, match="got 7"):
        WorkCalendar(frozenset({7}), frozenset(), 7.0)


# ISO 8601 weeks: the first three from the PostgreSQL documentation, the fourth from Python's,
# the rest from a calendar.
@pytest.mark.parametrize(
    ("day", "week"),
    [
        (date(2005, 1, 1), "2004-W53"),
        (date(2006, 1, 1), "2005-W52"),
        (date(2012, 12, 31), "2013-W01"),
        (date(2003, 12, 29), "2004-W01"),
        (date(2016, 1, 3), "2015-W53"),
        (date(2021, 1, 3), "2020-W53"),
        (date(2024, 12, 30), "2025-W01"),
    ],
)
def test_a_day_belongs_to_its_iso_week(day, week):
    assert iso_week(day) == week


DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31))
CALENDARS = st.builds(
    WorkCalendar,
    st.frozensets(st.integers(0, 6), min_size=1),
    st.frozensets(DAYS, max_size=20),
    st.just(7.0),
)


@given(CALENDARS, DAYS, st.integers(0, 800))
def test_counting_agrees_with_listing(calendar, after, span):
    until = after + timedelta(days=span)
    listed = calendar.working_days(after + timedelta(days=1), until)
    assert calendar.count(after, until) == len(listed)


@given(CALENDARS, DAYS, st.integers(1, 60))
def test_adding_days_and_counting_them_agree(calendar, day, n):
    reached = calendar.add(day, n)
    assert calendar.is_working(reached)
    assert calendar.count(day, reached) == n

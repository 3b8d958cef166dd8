"""When a session begins and ends."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from shots.trade.session_times import (
    SessionTimes,
    TimesError,
    check_times,
    moments,
    spoken,
    whole_minute,
)

WARSAW = ZoneInfo("Europe/Warsaw")
NOW = datetime(2026, 3, 10, 18, tzinfo=UTC)


def at(hour: int, minute: int = 0, day: int = 10) -> datetime:
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "start", "end", "hours"),
    [
        (date(2026, 3, 10), time(9), time(17), 8),
        (date(2026, 3, 10), time(22), time(2), 4),
        # Clocks go forward at 02:00 on 29 March and back at 03:00 on 25 October 2026
        # (Directive 2000/84/EC: last Sundays of March and October, 01:00 UTC).
        (date(2026, 3, 28), time(22), time(6), 7),
        (date(2026, 10, 24), time(22), time(6), 9),
    ],
)
def test_a_session_may_cross_midnight_and_is_as_long_as_it_was(day, start, end, hours):
    started, ended = moments(day, start, end, WARSAW)
    assert started.date() == day
    assert SessionTimes(started, ended).length == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("started", "ended", "setup", "breaks", "field", "says"),
    [
        (at(19), at(20), 0, 0, "start", "future"),
        (at(12), at(11), 0, 0, "ended", "not after its start"),
        (at(12), at(12), 0, 0, "ended", "not after its start"),
        (at(12, day=8), at(12, 1, day=9), 0, 0, "ended", "24 h 01 min"),
        (at(17), at(18, 2), 0, 0, "ended", "future"),
        (at(9), at(11), 60, 61, "break_minutes", "2 h 01 min, longer than the session's 2 h"),
        (at(9), at(11), 121, 0, "setup_minutes", "longer than the session"),
        (at(9), at(11), -1, 0, "setup_minutes", "0 or more"),
        (at(9), at(11), 0, -5, "break_minutes", "0 or more"),
    ],
)
def test_impossible_times_are_refused_at_their_field(started, ended, setup, breaks, field, says):
    with pytest.raises(TimesError, match=says) as refusal:
        check_times(SessionTimes(started, ended, setup, breaks), NOW)
    assert refusal.value.field == field


def test_the_edges_are_allowed():
    check_times(SessionTimes(at(9), at(11), 60, 60), NOW)
    check_times(SessionTimes(at(12, day=8), at(12, day=9)), NOW)
    check_times(SessionTimes(at(17), NOW), NOW)


def test_a_session_over_16_hours_is_worth_a_second_look():
    assert SessionTimes(at(0), at(16, 1)).is_long
    assert not SessionTimes(at(0), at(16)).is_long


def test_lengths_are_said_plainly():
    said = [spoken(timedelta(minutes=minutes)) for minutes in (0, 45, 60, 125)]
    assert said == ["0 min", "45 min", "1 h", "2 h 05 min"]


def test_seconds_are_dropped():
    assert whole_minute(datetime(2026, 3, 10, 9, 5, 59, 7, tzinfo=UTC)) == at(9, 5)

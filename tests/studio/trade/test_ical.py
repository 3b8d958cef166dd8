from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from studio.trade.ical import DayEvent, calendar_text

STAMP = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def feed(*events, name="Felt film"):
    return calendar_text(name, events, STAMP)


def read_back(text):
    return Calendar.from_ical(text).walk("VEVENT")


def test_an_all_day_event_ends_on_the_day_after_its_last():
    # RFC 5545 3.6.1 example: 28 June to 8 July 2007
    text = feed(DayEvent("shoot-1", date(2007, 6, 28), date(2007, 7, 8), "Festival"))
    assert "\r\nDTSTART;VALUE=DATE:20070628\r\n" in text
    assert "\r\nDTEND;VALUE=DATE:20070709\r\n" in text


def test_a_single_day_lasts_until_the_next():
    (event,) = read_back(feed(DayEvent("d", date(2026, 12, 31), date(2026, 12, 31), "Deadline")))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (date(2026, 12, 31), date(2027, 1, 1))


def test_what_the_standard_requires_is_there():
    # RFC 5545 3.6 and 3.6.1
    calendar = Calendar.from_ical(
        feed(DayEvent("shoot-1", date(2026, 3, 2), date(2026, 3, 2), "A"))
    )
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    (event,) = calendar.walk("VEVENT")
    assert event["UID"] == "shoot-1"
    assert event["DTSTAMP"].dt == STAMP


def test_a_stamp_in_another_zone_is_written_in_utc():
    berlin = datetime(2026, 3, 2, 10, 30, tzinfo=timezone(timedelta(hours=1)))
    text = calendar_text("x", [DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), "A")], berlin)
    assert "DTSTAMP:20260302T093000Z" in text


def test_reserved_characters_are_escaped_and_a_colon_is_not():
    # RFC 5545 3.3.11
    text = feed(DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), "wide; close, 1:1\nset \\ A"))
    assert "SUMMARY:wide\\; close\\, 1:1\\nset \\\\ A\r\n" in text
    assert read_back(text)[0]["SUMMARY"] == "wide; close, 1:1\nset \\ A"


def test_days_that_do_not_block_are_transparent():
    text = feed(DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), "Deadline", busy=False))
    assert read_back(text)[0]["TRANSP"] == "TRANSPARENT"


def test_an_empty_feed_is_still_a_calendar():
    assert Calendar.from_ical(feed()).walk("VEVENT") == []


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"])))
def test_no_line_is_longer_than_75_octets_and_any_text_reads_back(words):
    text = feed(DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), "s", description="x" + words))
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert read_back(text)[0]["DESCRIPTION"] == "x" + words


def test_a_long_line_in_many_scripts_is_folded_between_characters():
    words = "Żółć 撮影 " * 30
    text = feed(DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), words))
    assert read_back(text)[0]["SUMMARY"] == words
    assert max(len(line.encode()) for line in text.split("\r\n")) > 72


def test_control_characters_are_left_out():
    text = feed(DayEvent("u", date(2026, 3, 2), date(2026, 3, 2), "a\x00b\r\nc\rd"))
    assert read_back(text)[0]["SUMMARY"] == "ab\nc\nd"


def test_an_event_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="before it starts 2026-03-03: swap the dates"):
        DayEvent("u", date(2026, 3, 3), date(2026, 3, 2), "A")


def test_a_stamp_without_a_time_zone_is_refused():
    with pytest.raises(ValueError, match="must carry a time zone"):
        calendar_text("x", [], datetime(2026, 3, 2, 9, 30))

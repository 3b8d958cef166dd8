"""Places, locks, names, session times, strips and flashes of pictures."""

from datetime import UTC, date, datetime, timedelta

import pytest

from shots.trade.flashes import flashes, is_flashing
from shots.trade.picture_log import Span, break_minutes, runs, span
from shots.trade.picture_record import name_ranges, place, seconds, settings_in_words, shown_name
from shots.trade.picture_strips import Reading, measure_strip, tick_numbers

DAY = date(2026, 3, 2)
NINE = datetime(2026, 3, 2, 9, tzinfo=UTC)


def at(*minutes: float) -> list[datetime]:
    return [NINE + timedelta(minutes=minute) for minute in minutes]


def test_pictures_stand_in_number_order_within_a_day():
    names = ["P10.jpg", "p2.jpg", "P1.jpg", "P2b.jpg"]
    assert sorted(names, key=lambda name: place(DAY, name)) == [
        "P1.jpg",
        "p2.jpg",
        "P2b.jpg",
        "P10.jpg",
    ]


def test_a_counter_that_began_again_the_next_day_comes_after():
    assert place(DAY, "IMG_9999.jpg") < place(DAY + timedelta(days=1), "IMG_0001.jpg")


def test_a_place_fits_its_column_whatever_the_name():
    assert len(place(DAY, "1a" * 100)) == 250


@pytest.mark.parametrize(
    ("written", "value"),
    [("1/8", 0.125), ("0.5", 0.5), ("1/8 s", 0.125), ('2"', 2.0), ("0,5", 0.5), ("bulb", None),
     ("1/0", None), ("", None), ("-1", None)],
)  # fmt: skip
def test_a_shutter_is_read_as_it_is_written_on_a_card(written, value):
    assert seconds(written) == value


@pytest.mark.parametrize(
    ("sent", "shown"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\card\\P1.jpg", "P1.jpg"),
        ("P1\x00\n.jpg", "P1.jpg"),
        ("", "picture"),
        ("a" * 300 + ".jpg", "a" * 196 + ".jpg"),
    ],
)
def test_a_name_is_only_shown(sent, shown):
    assert shown_name(sent) == shown


def test_settings_read_as_on_a_lock_card():
    settings = {"iso": 100.0, "shutter": 0.125, "aperture": 8.0, "white_balance_auto": True}
    assert settings_in_words(settings) == [
        ("Aperture", "f/8"),
        ("Shutter", "1/8 s"),
        ("Sensitivity", "ISO 100"),
        ("White balance", "automatic"),
    ]


def test_lunch_is_a_break_and_a_night_ends_the_session():
    times = at(0, 5, 65, 70, 70 + 241)
    assert [len(run) for run in runs(times)] == [4, 1]
    assert break_minutes(times[:4]) == 60


def test_ten_minutes_are_no_break_yet():
    assert break_minutes(at(0, 10)) == 0
    assert break_minutes(at(0, 10.1)) == 10


def test_a_session_that_stands_between_cuts_the_run():
    times = at(0, 5, 65, 70)
    assert [len(run) for run in runs(times, [Span(*at(20, 40))])] == [2, 2]


def test_one_picture_is_a_session_of_a_minute():
    moment = NINE + timedelta(seconds=30)
    assert span([moment], None, None) == Span(NINE, NINE + timedelta(minutes=1))


def test_ticks_are_round_numbers():
    assert tick_numbers(40) == [1, 5, 10, 15, 20, 25, 30, 35, 40]
    assert tick_numbers(0) == []
    assert tick_numbers(3) == [1, 2, 3]
    assert tick_numbers(2000)[:4] == [1, 500, 1000, 1500]


def test_a_strip_breaks_where_nothing_was_measured_and_marks_its_flags():
    readings = [Reading(1, 1.0), Reading(2, None), Reading(3, 1.04, "light +4 %", 77)]
    strip = measure_strip("Light", readings, 1, 0.02, "%")
    assert [len(line) for line in strip.lines] == [1, 1]
    assert strip.points == ["166.7,50.0", "833.3,0.0"]
    assert [(mark.number, mark.y, mark.key) for mark in strip.marks] == [(3, 0.0, 77)]
    assert strip.sentence == "Light: from −4.0 % to +4.0 %, 1 flag."


# WCAG 2.2, definition of "general flash": a pair of opposing changes of 10 % or more of the maximum
# relative luminance, the darker below 0.80; more than three in any one second is the limit.
def test_four_flashes_in_a_second_are_too_many_and_three_are_not():
    four = [0.2, 0.4] * 4 + [0.2]
    assert flashes(four, [1 / 12] * 9) == 4
    assert is_flashing(four, [1 / 12] * 9)
    assert not is_flashing([0.2, 0.4] * 3 + [0.2], [1 / 12] * 7)


@pytest.mark.parametrize(
    "lights",
    [
        [0.2, 0.29] * 10,  # less than 10 %
        [0.85, 0.96] * 10,  # the darker one is not dark
        [n / 20 for n in range(20)],  # one long rise
        [],
    ],
)
def test_no_flash_where_the_definition_sees_none(lights):
    assert flashes(lights, [1 / 24] * len(lights)) == 0


def test_the_same_changes_spread_over_seconds_do_not_flash():
    assert not is_flashing([0.2, 0.6] * 8, [0.5] * 16)


@pytest.mark.parametrize(
    ("names", "ranges"),
    [
        ([], ""),
        (["P0001.jpg"], "P0001"),
        (["P0001.jpg", "P0002.JPG", "P0003.jpg"], "P0001 to P0003"),
        (["P0998.jpg", "P0999.jpg", "P1000.jpg"], "P0998 to P1000"),
        (["P0001.jpg", "P0002.jpg", "P0004.jpg"], "P0001 to P0002, P0004"),
        (["P9999.jpg", "P0001.jpg"], "P9999, P0001"),  # another card
        (["fox.png", "owl.png"], "fox, owl"),
        ([f"P{n:04}.jpg" for n in range(1, 12, 2)], "P0001 to P0011, broken 5 times"),
    ],
)
def test_file_names_are_said_as_ranges(names, ranges):
    assert name_ranges(names) == ranges


def test_one_black_picture_does_not_flatten_the_strip():
    readings = [Reading(number, 1 + 0.004 * (number % 2)) for number in range(1, 21)]
    readings[9] = Reading(10, 0.002, "light −99.8 %")
    strip = measure_strip("Light", readings, 1, 0.02, "%")
    assert (strip.lowest, strip.highest) == ("−20.0 %", "+20.0 %")
    assert strip.marks[0].y == 100  # at the edge, and flagged
    fade = [Reading(number, 1 - number / 21) for number in range(1, 21)]
    assert measure_strip("Light", fade, 1, 0.02, "%").lowest == "−85.7 %"

"""Rest, hours and what fills a day, against figures from outside."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from shots.trade.call import (
    CAUTIONS,
    Hours,
    Rest,
    ShotLeft,
    day_cautions,
    fill_day,
    targets,
)

WARSAW = ZoneInfo("Europe/Warsaw")
TUESDAY = date(2026, 3, 3)


def on(day: int, hour: int, minute: int = 0, month: int = 3) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=WARSAW)


# Directive 2003/88/EC, article 3: eleven hours in a row in every 24.
@pytest.mark.parametrize(
    ("wrap", "earliest"),
    [
        (on(2, 22), on(3, 9)),
        (on(2, 23, 30), on(3, 10, 30)),
        (on(3, 1), on(3, 12)),
        (on(28, 22), on(29, 10)),  # the clocks go forward in the night: an hour of it is missing
    ],
)
def test_the_earliest_call_gives_eleven_hours_of_rest(wrap, earliest):
    rest = Rest(wrap, earliest)
    assert rest.earliest == earliest
    assert not rest.is_short
    early = Rest(wrap, earliest - timedelta(minutes=1))
    assert early.is_short
    assert f"{earliest:%H:%M}" in early.sentence
    assert "Local law decides" in early.sentence


def test_a_call_before_the_work_has_ended_is_no_rest_at_all():
    rest = Rest(on(3, 10), on(3, 9))
    assert rest.is_short
    assert "0 h 00 min" in rest.sentence


@pytest.mark.parametrize(
    ("call", "wrap", "hours", "ends"),
    [
        (time(9), time(17), 8, on(3, 17)),
        (time(18), time(2), 8, on(4, 2)),
        (time(0), time(23, 59), 23 + 59 / 60, on(3, 23, 59)),
    ],
)
def test_a_wrap_earlier_than_the_call_is_after_midnight(call, wrap, hours, ends):
    day = Hours(TUESDAY, call, wrap)
    assert day.length / timedelta(hours=1) == pytest.approx(hours)
    assert day.end(WARSAW) == ends


def test_ten_minutes_of_each_hour_are_left_for_breaks():
    # HSE: breaks of 5 to 10 minutes every hour.
    assert Hours(TUESDAY, time(9), time(15)).at_the_set == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("at", "moment"), [(time(17), on(3, 17)), (time(20), on(3, 20)), (time(1), on(4, 1))]
)
def test_a_person_may_be_called_before_the_others_or_after_midnight(at, moment):
    assert Hours(TUESDAY, time(18), time(2)).moment(at, WARSAW) == moment


SHOTS = [
    ShotLeft("010", "K1", 20, 10),
    ShotLeft("020", "S1", 30, 10),
    ShotLeft("030", "K1", 40, 5),
    ShotLeft("040", "S1", 10, 10, begun=True),
]


@pytest.mark.parametrize(
    ("hours", "building", "standing", "taken"),
    [
        (3, {}, "", {"010": 20, "030": 5}),
        (3, {}, "S1", {"040": 10, "020": 20}),
        (5, {"K1": 1}, "S1", {"040": 10, "020": 30}),  # building K1 takes the last hour
        (7, {"K1": 1}, "S1", {"040": 10, "020": 30, "010": 20}),
        (100, {}, "", {"010": 20, "030": 40, "040": 10, "020": 30}),
        (0, {}, "", {}),
        (0.05, {}, "", {}),
    ],
)
def test_a_day_is_filled_set_up_by_set_up(hours, building, standing, taken):
    assert list(fill_day(SHOTS, hours, building, standing).items()) == list(taken.items())


def test_targets_say_the_hours_pictures_need():
    goal = targets([(20, 10.0), (15, 5.0)], 0.5, 6.0, measured=True)
    assert (goal.pictures, goal.hours_needed) == (35, 5.5)
    assert "35 pictures to keep. At your pace so far they take about 5.5 h" in goal.sentence
    assert not goal.is_too_much
    assert "expect to finish less" in targets([(50, 5.0)], 0, 6.0, measured=False).sentence
    assert "No pictures to take" in targets([], 0, 6.0, measured=False).sentence


def test_each_caution_says_who_decides():
    day = Hours(TUESDAY, time(6), time(22))
    own = day_cautions(Rest(on(2, 22), on(3, 6)), day, ["K1", "S1"])
    assert [caution.about for caution in own] == ["Rest", "Long day", "Lamp load"]
    assert "K1, S1" in own[2].text
    for caution in (*own, *CAUTIONS):
        assert "decide" in caution.text


def test_an_ordinary_day_adds_no_caution():
    day = Hours(TUESDAY, time(9), time(17))
    assert day_cautions(Rest(on(2, 17), on(3, 9)), day, []) == ()
    # Thirteen hours leave exactly eleven before the same call tomorrow.
    assert day_cautions(None, Hours(TUESDAY, time(8), time(21)), []) == ()

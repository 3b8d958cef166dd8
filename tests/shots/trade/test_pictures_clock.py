"""File numbers, the session, doubles and settings: what is read beside the pixels."""

from datetime import datetime, timedelta

import pytest

from shots.trade.pictures import Facts, Settings, natural_key
from shots.trade.pictures.clock import gaps, missing_numbers, session
from shots.trade.pictures.duplicates import duplicate_flags
from shots.trade.pictures.settings import changed_settings

START = datetime(2026, 3, 2, 15, 55, 55)


def taken(*seconds: float | None, start=START, offsets=None) -> list[Facts]:
    return [
        Facts(
            f"P{n:04d}.jpg",
            f"hash {n}",
            1920,
            1080,
            taken=None if s is None else start + timedelta(seconds=s),
            utc_offset=offsets and timedelta(hours=offsets[n]),
        )
        for n, s in enumerate(seconds)
    ]


@pytest.mark.parametrize(
    ("names", "missing"),
    [
        (["P0001.jpg", "P0002.jpg"], []),
        (["IMG_6110.jpg", "IMG_6112.jpg", "IMG_6120.png"], [6111, *range(6113, 6120)]),
        (["P0001.jpg", "P0202.jpg"], []),  # more than 200 further: a new roll
        (["P0001.jpg", "P0201.jpg"], list(range(2, 201))),
        (["P9998.jpg", "P9999.jpg", "P0001.jpg"], []),  # the counter starts again
        (["A0001.jpg", "B0004.jpg", "A0002.jpg", "B0006.jpg"], [5]),  # two cameras
        (["IMG_20260302_155555.jpg", "IMG_20260302_155612.jpg"], []),  # named by the clock
        (["felt.jpg", "paper.jpg"], []),
        (["P1.jpg", "P1.png", "P2.jpg"], []),
        ([], []),
    ],
)
def test_gaps_in_the_numbers(names, missing):
    assert missing_numbers(names) == missing


def test_names_sort_by_their_numbers():
    names = ["P10.jpg", "p2.jpg", "P1.jpg", "²3.jpg", "A.jpg", "10.jpg"]
    assert sorted(names, key=natural_key) == [
        "10.jpg", "A.jpg", "P1.jpg", "p2.jpg", "P10.jpg", "²3.jpg",
    ]  # fmt: skip


def test_a_session_has_start_end_breaks_active_time_and_pace():
    assert session(taken(0, 20, 40, 640.5, 1240.6, 1260.6)) == {
        "start": "2026-03-02T15:55:55",
        "end": "2026-03-02T16:16:55",
        "gap_s": 600,
        "breaks": [
            {"after": "2026-03-02T15:56:35", "before": "2026-03-02T16:06:35", "seconds": 600.5},
            {"after": "2026-03-02T16:06:35", "before": "2026-03-02T16:16:35", "seconds": 600.1},
        ],
        "active_s": 60.0,
        "pictures": 6,
        "per_hour": 360.0,
    }


def test_no_times_no_session_and_one_picture_no_pace():
    assert session([]) is None
    assert session(taken(None, None)) is None
    assert session(taken(0))["per_hour"] is None


def test_a_copied_file_was_not_taken_again():
    facts = taken(0, 30, 60)
    copy = Facts("Q.jpg", facts[0].sha256, 1920, 1080, taken=facts[0].taken)
    found = session([*facts, copy])
    assert (found["pictures"], found["end"]) == (3, "2026-03-02T15:56:55")


@pytest.mark.parametrize(
    ("seconds", "offsets", "expected"),
    [
        ((0, 20, None, 60), None, [None, 20, None, None]),
        ((0, 20, 40 - 3600, 60 - 3600), None, [None, 20, 20, 20]),  # set back in autumn
        ((0, 20, 40 - 86400, 60 - 86400), None, [None, 20, 20, 20]),  # date stuck at midnight
        ((0, 20, -999_999, -999_979), None, [None, 20, None, 20]),  # a clock set wrong
        ((0, 20, 3640, 3660), (1, 1, 2, 2), [None, 20, 20, 20]),  # spring, with its offset
    ],
)
def test_a_clock_that_jumps_is_put_right_where_it_can_be(seconds, offsets, expected):
    assert gaps(taken(*seconds, offsets=offsets)) == expected


def test_doubles_holds_and_copies_are_told_apart():
    facts = taken(0, 30, 60, 61, 91, 96, 126)
    facts[-1] = Facts("copy.jpg", facts[0].sha256, 1920, 1080, taken=facts[0].taken)
    still = [False, False, False, True, True, True, True]
    assert [f[0] if f else None for f in duplicate_flags(facts, still)] == [
        None,
        None,
        None,
        {"kind": "duplicate", "sub": "double", "of": "P0002.jpg"},  # within 2 s
        {"kind": "duplicate", "sub": "held", "of": "P0003.jpg", "level": "info"},
        {"kind": "duplicate", "sub": "double", "of": "P0004.jpg"},  # within a fifth of 30 s
        {"kind": "duplicate", "sub": "copy", "of": "P0000.jpg"},
    ]


def test_without_times_a_still_picture_is_held():
    flags = duplicate_flags(taken(None, None), [False, True])
    assert flags[1][0]["sub"] == "held"


MANUAL = Settings(100, 0.5, 8.0, 50.0, False, False)


def test_settings_are_held_against_the_picture_before():
    changed = Settings(200, 0.5, 8.0, 50.0, True, False)
    assert changed_settings([MANUAL, Settings(), changed, changed]) == [
        [],
        [],
        [
            {"kind": "exif", "field": "iso", "old": 100, "new": 200},
            {"kind": "exif", "field": "white_balance_auto", "old": False, "new": True},
        ],
        [],
    ]


def test_the_lock_card_speaks_at_the_first_picture():
    lock = Settings(shutter=0.5, exposure_auto=False)
    auto = Settings(100, 0.4, 8.0, 50.0, False, True)
    assert changed_settings([auto, auto], lock) == [
        [
            {"kind": "exif", "field": "shutter", "old": 0.5, "new": 0.4},
            {"kind": "exif", "field": "exposure_auto", "old": False, "new": True},
        ],
        [],
    ]


def test_the_same_shutter_written_otherwise_is_no_change():
    assert changed_settings([Settings(shutter=1 / 60), Settings(shutter=0.01667)]) == [[], []]

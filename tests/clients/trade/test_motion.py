"""Holds, cadence, frozen and black stretches from one number per frame."""

import numpy as np
import pytest

from clients.trade.checks import holds
from clients.trade.checks.cells import AreaMeans, change, is_black
from clients.trade.checks.holds import new_pictures
from clients.trade.checks.motion import (
    REACH,
    Stretch,
    black_parts,
    black_too_long,
    cadence,
    frozen,
)
from clients.trade.specification import Black


def changes_of(*holds: int, motion: float = 20.0, noise: float = 0.6) -> np.ndarray:
    out = [value for hold in holds for value in [motion] + [noise] * (hold - 1)]
    return np.array(out, np.float32)


# Repeat patterns of film cadence: 12 into 24, 12 into 30 (3, 2), 12 into 25 (3 then eleven 2s),
# 15 into 24, 24 into 25 (one repeat in 24): rate arithmetic, floor(k a / d).
@pytest.mark.parametrize(
    ("holds", "pattern"),
    [
        ([1] * 60, (1,)),
        ([2] * 60, (2,)),
        ([3] * 40, (3,)),
        ([3, 2] * 30, (3, 2)),
        ([3, *[2] * 11] * 5, (3, *[2] * 11)),
        ([2, 2, 1, 2, 1] * 12, (2, 2, 1, 2, 1)),
        ([2, *[1] * 23] * 6, (2, *[1] * 23)),
    ],
)
def test_patterns_are_found(holds, pattern):
    assert cadence(changes_of(*holds), 1).pattern == pattern


def test_even_holds_do_not_break_twos():
    found = cadence(changes_of(*[2] * 20, 24, *[2] * 20, 8, *[2] * 10), 2)
    assert (found.pattern, found.breaks) == ((2,), ())


def test_a_dropped_and_a_doubled_frame_are_named():
    found = cadence(changes_of(*[2] * 20, 1, *[2] * 20, 3, *[2] * 20), 2)
    assert found.breaks == (Stretch(40, 40), Stretch(81, 83))


def test_a_film_read_in_sections_breaks_nowhere_between_them(monkeypatch):
    monkeypatch.setattr(holds, "SECTION", 1000)
    film = changes_of(*[2] * 1500, 1, *[2] * 300)
    assert cadence(film, 2).breaks == (Stretch(3000, 3000),)


def test_a_last_picture_cut_short_by_the_end_is_no_break():
    assert cadence(changes_of(*[3] * 10, 2), 3).breaks == ()


def test_small_motion_beside_a_cut_is_still_motion():
    small = changes_of(*[2] * 20, motion=9.0, noise=0.8)
    small[20] = 120.0  # a cut to another set-up
    assert cadence(small, 2).breaks == ()


def test_frozen_stretches_longer_than_wanted():
    changes = changes_of(*[2] * 12, 30, *[2] * 12)
    moved = np.full(changes.size, 40, np.float32)
    moved[24 + REACH : 54] = 1.0
    assert frozen(changes, moved, None, 29) == [Stretch(24, 53)]
    assert frozen(changes, moved, None, 30) == []
    black = np.zeros(changes.size, bool)
    black[24:54] = True
    assert frozen(changes, moved, black, 29) == []


def test_what_creeps_is_not_frozen_though_no_frame_differs_from_the_one_before():
    changes = changes_of(*[2] * 12, 60, *[2] * 12, noise=3.0)
    moved = np.full(changes.size, 25, np.float32)
    assert frozen(changes, moved, None, 29) == []


def test_a_loud_repeat_does_not_end_what_is_frozen():
    changes = changes_of(*[2] * 12, 30, *[2] * 12)
    changes[40] = 9.0  # where the encoder began afresh
    moved = np.full(changes.size, 40, np.float32)
    moved[24 + REACH : 54] = 1.0
    moved[40 : 40 + REACH] = 5.0
    assert frozen(changes, moved, None, 29) == [Stretch(24, 53)]


def test_short_stretches_are_read_from_the_changes_alone():
    changes = changes_of(*[2] * 12, 9, *[2] * 12)
    moved = np.full(changes.size, 40, np.float32)
    assert frozen(changes, moved, None, 8) == [Stretch(24, 32)]


def test_black_parts():
    flags = np.array([1, 1, 0, 0, 1, 0, 1], bool)
    parts = black_parts(flags)
    assert parts == (2, [Stretch(4, 4)], 1)
    assert black_too_long(parts, Black(2, 1, 1)) == []
    assert black_too_long(parts, Black()) == ["2 at the head", "frame 4", "1 at the tail"]
    assert black_parts(np.ones(5, bool)) == (5, [], 0)
    assert black_parts(np.zeros(0, bool)) == (0, [], 0)


def test_no_frames_and_one_frame():
    assert new_pictures(np.zeros(0, np.float32), 2).size == 0
    assert cadence(np.array([255], np.float32), 2).breaks == ()


@pytest.mark.parametrize("side", [1, 2, 4, 8, 16])
@pytest.mark.parametrize(("bits", "kind"), [(8, np.uint8), (10, np.uint16)])
def test_area_means_of_a_flat_plane(side, bits, kind):
    plane = np.full((50, 70), 100 << (bits - 8), kind)
    means = AreaMeans(side, bits).of(plane)
    assert (means == 100 * 16).all()
    assert means.shape == (50 // side, 70 // side)


def test_fast_means_follow_columns():
    plane = np.repeat(np.arange(20, dtype=np.uint8) * 10, 8)[None].repeat(24, axis=0)
    padded = np.ascontiguousarray(np.pad(plane, ((0, 0), (0, 32))))[:, :160]
    means = AreaMeans(8, 8)
    for _ in range(2):  # the second time in the memory of the first
        assert (means.of(padded)[2] == np.arange(20) * 10 * 16).all()


def test_change_leaves_out_a_single_cell():
    still = np.full(10_000, 1600, np.int16)
    one, many = still.copy(), still.copy()
    one[:2] += 800
    many[:10] += 800
    assert change(one, still) == 0
    assert change(many, still) == 50


def test_black_by_range():
    assert is_black(np.full(400, 20 * 16, np.int16), full_range=False)
    assert not is_black(np.full(400, 20 * 16, np.int16), full_range=True)

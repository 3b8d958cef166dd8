from fractions import Fraction
from itertools import pairwise

import pytest

from shots.trade.beats import (
    BeatError,
    Walk,
    blank_lines,
    length_of,
    read_beats,
    sheet_lines,
    walk_poses,
)
from shots.trade.spacing import Move

RATE = Fraction(24)


def one(line, exposure=2, rate=RATE):
    (beat,) = read_beats(line, rate, exposure)
    return beat


@pytest.mark.parametrize(
    ("line", "kind", "frames", "pictures"),
    [
        ("hold 12 f", "hold", 12, 1),
        ("hold 0.5 s", "hold", 12, 1),
        ("Hold: puppet listens, 1 s 06 f", "hold", 30, 1),
        ("reuse 1 s", "reuse", 24, 0),
        # 1.8 s x 24 = 43.2 frames
        ("line of dialogue 1.8 s", "dialogue", 43, 22),
        ("dialogue “Good morning, Żółć” 1,8 s", "dialogue", 43, 22),
        ("wave: raise 90° in 8 pictures, ease both ends", "move", 16, 8),
        ("turn 180° in 12 pictures", "move", 24, 12),
        ("lift arm 4,5 cm, in 6 pictures, ease out", "move", 12, 6),
        ("blink in 6 f", "move", 6, 3),
        ("walk 30 cm, stride 5 cm, 4 new pictures a step, alternate feet", "walk", 48, 24),
        ("walk 1 m, stride 80 mm, 3 pictures a step, left foot first", "walk", 78, 39),
        # march at 120 steps a minute: 12 frames a step at 24 (drill manuals)
        ("walk 30 cm, stride 5 cm, 12 f a step", "walk", 72, 36),
    ],
)
def test_a_beat_gives_frames_and_pictures_on_twos(line, kind, frames, pictures):
    beat = one(line)
    assert (beat.kind, beat.frames, beat.pictures) == (kind, frames, pictures)


def test_a_beat_in_pictures_lasts_longer_on_twos_but_costs_the_same():
    line = "wave: raise 90° in 8 pictures"
    assert [(one(line, e).frames, one(line, e).pictures) for e in (1, 2, 3)] == [
        (8, 8),
        (16, 8),
        (24, 8),
    ]


def test_ten_seconds_of_moving_take_240_pictures_on_ones_and_120_on_twos():
    # animation course "Timing": 24 and 12 drawings a second at 24 fps
    assert one("dance in 10 s", exposure=1).pictures == 240
    assert one("dance in 10 s", exposure=2).pictures == 120


def test_a_move_carries_its_distance_ease_and_shares():
    assert one("wave: raise 90° in 8 pictures, ease in, anticipation 10 %, overshoot 5%").move == (
        Move(90.0, "degrees", 8, "in", 0.1, 0.05)
    )
    assert one("lift 4 cm in 6 pictures, even").move == Move(40.0, "mm", 6, "even")
    assert one("blink in 2 pictures").move is None


def test_changing_the_stride_moves_the_budget():
    def budget(stride):
        beats = read_beats(f"hold 12 f\nwalk 30 cm, stride {stride}, 4 pictures a step", RATE, 2)
        return length_of(beats, 2).pictures

    assert (budget("5 cm"), budget("6 cm"), budget("3 cm")) == (25, 21, 41)


def test_beats_and_frame_budget_count_the_same_pictures_even_where_frames_are_odd():
    beats = read_beats("dialogue 43 f\nhold 7 f\n\ndialogue 43 f\nreuse 5 f\nblink in 3 f", RATE, 2)
    length = length_of(beats, 2)
    # (101 - 7 - 5) / 2 = 44.5, so 45 moving pictures, and 1 for the hold
    assert length.screen_frames == 101
    assert length.pictures == sum(beat.pictures for beat in beats) == 46


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("hold", "Line 1: “hold” needs a length at its end: write hold 12 f"),
        ("hold 12 f\n\nhold 0 f", "Line 3: A length must be at least one frame"),
        ("line of dialogue", "needs a length at its end"),
        ("wave: raise 90°", "does not say how long it takes"),
        ("wave: raise 90° in 0 pictures", "needs at least 1 picture"),
        ("wave: raise 0° in 8 pictures", "must go somewhere"),
        ("wave: raise 90° in 10000 pictures", "at most 1,000 pictures; got 10,000"),
        ("wave: raise 90° in 8 pictures, bouncy", "“bouncy” is not known in a move"),
        ("blink in 4 pictures, ease in", "eases, but over what"),
        ("walk, stride 5 cm", "needs a distance"),
        ("walk 90°, stride 5 cm, 4 pictures a step", "needs a distance"),
        ("walk 30 cm", "needs a stride and pictures"),
        ("walk 30 cm, stride 0 cm, 4 pictures a step", "stride of a walk must be above 0"),
        ("walk 30 cm, stride 5 cm, 0 pictures a step", "at least 1 new picture; got 0"),
        ("walk 30 m, stride 1 mm, 4 pictures a step", "at most 1,000 steps"),
        ("walk 30 cm, stride 5 cm, 5 f a step", "do not divide by an exposure of 2; write 6 f"),
        ("walk 30 cm, stride 5 cm, 4 pictures a step, limp", "“limp” is not known in a walk"),
        ("hold 3000 s\nhold 3000 s", "Line 2: the shot passes 100,000 frames"),
    ],
)
def test_a_line_that_is_no_beat_is_named_with_what_to_write(text, sentence):
    with pytest.raises(BeatError, match=sentence):
        read_beats(text, RATE, 2)


def test_no_beats_are_no_frames():
    assert read_beats("\n  \n", RATE, 2) == ()
    assert length_of((), 2).pictures == 0


# --- walks ---


def test_a_step_has_five_key_poses_and_its_last_is_the_next_ones_first():
    # common practice, no source
    steps = walk_poses(Walk(300, 50, 4))
    assert len(steps) == 6
    for step in steps:
        assert [pose.key for pose in step] == ["contact", "down", "passing", "up", "contact"]
    for before, after in pairwise(steps):
        last, first = before[-1], after[0]
        assert (last.picture, last.left_foot, last.right_foot, last.left_arm) == pytest.approx(
            (first.picture, first.left_foot, first.right_foot, first.left_arm)
        )


def test_the_body_covers_the_distance_and_the_planted_foot_stays():
    steps = walk_poses(Walk(300, 50, 4))
    assert steps[-1][-1].body - steps[0][0].body == pytest.approx(300)
    assert {pose.left_foot for pose in steps[0]} == {0}
    assert [pose.right_foot for pose in steps[0]] == pytest.approx([-50, -25, 0, 25, 50])
    assert {pose.right_foot for pose in steps[1]} == {50}


def test_arms_swing_opposite_to_the_legs():
    for step in walk_poses(Walk(200, 40, 4, "left")):
        for pose in step:
            assert pose.left_arm == pytest.approx(-pose.right_arm)
            if pose.key == "contact":
                forward = "left" if pose.left_foot > pose.right_foot else "right"
                assert getattr(pose, f"{forward}_arm") == pytest.approx(-1)
            if pose.key == "passing":
                assert (pose.left_arm, pose.left_foot) == pytest.approx((0, pose.right_foot))


def test_a_distance_that_is_no_whole_number_of_strides_shortens_them_all_alike():
    walk = Walk(320, 50, 4)
    assert (walk.steps, walk.step_length) == (7, pytest.approx(45.714, abs=0.001))
    assert Walk(0.3 * 1000, 0.1 * 1000, 4).steps == 3


@pytest.mark.parametrize(
    ("pictures", "keys"),
    [
        (1, ["contact", "contact"]),
        (2, ["contact", "passing", "contact"]),
        (3, ["contact", "down", "passing", "contact"]),
        (8, ["contact", "", "down", "", "passing", "", "up", "", "contact"]),
    ],
)
def test_key_poses_fall_on_the_nearest_picture(pictures, keys):
    assert [pose.key for pose in walk_poses(Walk(50, 50, pictures))[0]] == keys


# --- the lines of an exposure sheet ---


def test_every_frame_has_a_line_with_its_picture_and_repeat():
    beats = read_beats("hold 3 f\nwave 20 mm in 2 pictures\nreuse 2 f", RATE, 2)
    lines = sheet_lines(beats, 2)
    assert [(x.frame, x.picture, x.repeat, x.repeats, x.mark) for x in lines] == [
        (1, 1, 1, 3, "hold"),
        (2, 1, 2, 3, "hold"),
        (3, 1, 3, 3, "hold"),
        (4, 2, 1, 2, ""),
        (5, 2, 2, 2, ""),
        (6, 3, 1, 2, ""),
        (7, 3, 2, 2, ""),
        (8, None, 1, 2, "reuse"),
        (9, None, 2, 2, "reuse"),
    ]
    assert [(x.frame, x.action) for x in lines if x.action] == [
        (1, "hold 3 f"),
        (4, "wave 20 mm in 2 pictures"),
        (8, "reuse 2 f"),
    ]


def test_the_sheet_ends_on_the_last_picture_of_the_budget():
    beats = read_beats("dialogue 43 f\nhold 7 f\ndialogue 43 f\nblink in 1 f", RATE, 2)
    lines = sheet_lines(beats, 2)
    assert len(lines) == 94
    assert max(line.picture for line in lines) == length_of(beats, 2).pictures == 45
    assert lines[0].dialogue == "dialogue 43 f"


def test_blank_lines_count_frames_and_say_nothing():
    lines = blank_lines(3)
    assert [(x.frame, x.picture, x.action) for x in lines] == [
        (1, None, ""),
        (2, None, ""),
        (3, None, ""),
    ]

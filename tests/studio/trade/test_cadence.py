from fractions import Fraction

import pytest

from studio.trade.cadence import cadence
from studio.trade.timecode import RateError

F = Fraction
NTSC_24, NTSC_30, NTSC_60 = F(24000, 1001), F(30000, 1001), F(60000, 1001)

# Delivery divided by animating rate, reckoned with fractions; 1000/1001 is a change of speed.
DELIVERIES = (F(24), F(25), F(30), F(50), F(60))
REPEATS = {
    F(6): (F(4), F(25, 6), F(5), F(25, 3), F(10)),
    F(8): (F(3), F(25, 8), F(15, 4), F(25, 4), F(15, 2)),
    F(10): (F(12, 5), F(5, 2), F(3), F(5), F(6)),
    F(12): (F(2), F(25, 12), F(5, 2), F(25, 6), F(5)),
    F(25, 2): (F(48, 25), F(2), F(12, 5), F(4), F(24, 5)),
    F(15): (F(8, 5), F(5, 3), F(2), F(10, 3), F(4)),
    F(24): (F(1), F(25, 24), F(5, 4), F(25, 12), F(5, 2)),
    F(25): (F(24, 25), F(1), F(6, 5), F(2), F(12, 5)),
    F(30): (F(4, 5), F(5, 6), F(1), F(5, 3), F(2)),
}


@pytest.mark.parametrize("animated", REPEATS)
def test_repeats_are_delivered_frames_per_picture(animated):
    for delivered, repeats in zip(DELIVERIES, REPEATS[animated], strict=True):
        answer = cadence(animated, delivered)
        assert answer.repeats == repeats
        assert answer.even == (repeats.denominator == 1)
        assert sum(answer.pattern) == repeats.numerator
        assert len(answer.pattern) == repeats.denominator


@pytest.mark.parametrize(
    ("animated", "delivered", "repeats"),
    [(F(24), NTSC_24, 1), (F(12), NTSC_24, 2), (F(15), NTSC_30, 2), (F(10), NTSC_60, 6)],
)
def test_a_1001_rate_is_a_change_of_speed(animated, delivered, repeats):
    answer = cadence(animated, delivered)
    assert answer.even
    assert answer.repeats == repeats
    assert "0.1 % slower" in answer.sentence


# floor(k * animated / delivered), reckoned by hand; 24 into 60 is the telecine's 3, 2.
@pytest.mark.parametrize(
    ("animated", "delivered", "pattern", "unevenness"),
    [
        (F(24), F(30), (2, 1, 1, 1), F(2)),
        (F(12), F(30), (3, 2), F(3, 2)),
        (F(24), F(60), (3, 2), F(3, 2)),
        (F(10), F(24), (3, 2, 3, 2, 2), F(3, 2)),
        (F(15), F(24), (2, 2, 1, 2, 1), F(2)),
        (F(12), F(25), (3, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2), F(3, 2)),
        (F(12), F(24), (2,), F(1)),
        (F(30), F(24), (1, 1, 1, 1, 0), None),
    ],
)
def test_the_pattern_follows_the_floor_rule(animated, delivered, pattern, unevenness):
    answer = cadence(animated, delivered)
    assert answer.pattern == pattern
    assert answer.unevenness == unevenness


@pytest.mark.parametrize(
    ("animated", "delivered", "below", "above"),
    [
        (F(15), F(24), None, F(30)),
        (F(15), NTSC_24, None, NTSC_30),
        (F(12), F(30), F(24), F(60)),
        (F(12), F(25), F(24), F(60)),
        (F(25, 2), F(30), F(25), F(50)),
        (F(7), F(24), None, None),
        (F(12), NTSC_24, None, NTSC_60),
    ],
)
def test_the_nearest_even_deliveries_stand_on_either_side(animated, delivered, below, above):
    answer = cadence(animated, delivered)
    assert (answer.even_below, answer.even_above) == (below, above)


@pytest.mark.parametrize(
    ("animated", "delivered", "sentence"),
    [
        (F(12), F(24), "12 into 24 is even: each picture is held for 2 frames."),
        (
            F(24),
            NTSC_24,
            "24 into 23.976 is even: each picture is held for 1 frame, and the film runs 0.1 % "
            "slower.",
        ),
        (
            F(15),
            F(24),
            "15 into 24 is uneven: pictures are held for 2, 2, 1, 2, 1 frames in turn. "
            "Nearest even delivery: 30.",
        ),
        (
            F(24),
            F(25),
            "24 into 25 is uneven: of every 24 pictures 1 is held for 2 frames and the rest for "
            "1 frame. Nearest even delivery: 24.",
        ),
        (F(30), F(24), "30 into 24 loses 1 of every 5 pictures. Nearest even delivery: 30."),
        (
            F(7),
            F(24),
            "7 into 24 is uneven: pictures are held for 4, 3, 4, 3, 4, 3, 3 frames in turn. "
            "No common delivery rate holds every picture equally long.",
        ),
    ],
)
def test_the_sentence_says_it_plainly(animated, delivered, sentence):
    assert cadence(animated, delivered).sentence == sentence


def test_a_very_long_cycle_is_cut_off():
    answer = cadence(F(123456789, 10000000), F(24))
    assert len(answer.pattern) == 240
    assert set(answer.pattern) == {1, 2}


def test_a_rate_of_nothing_is_refused():
    with pytest.raises(RateError, match="more than 0"):
        cadence(F(0), F(24))

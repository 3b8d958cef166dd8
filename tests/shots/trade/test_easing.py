import numpy as np
import pytest

from shots.trade.easing import CONTROL_POINTS, WORDS, cubic_bezier, ease

TENTHS = np.arange(1, 10) / 10


@pytest.mark.parametrize(
    ("points", "expected"),
    [
        # CSS Easing Functions Level 1, section 2.2 (curves verified); values computed apart
        ((0.42, 0, 0.58, 1), [0.0197, 0.0817, 0.1874, 0.3319, 0.5, 0.6681, 0.8126, 0.9183, 0.9803]),
        ((0.42, 0, 1, 1), [0.0170, 0.0623, 0.1296, 0.2149, 0.3154, 0.4291, 0.5548, 0.6916, 0.8394]),
        (
            (0.25, 0.1, 0.25, 1),
            [0.0948, 0.2952, 0.5133, 0.6825, 0.8024, 0.8852, 0.9408, 0.9756, 0.9943],
        ),
        # a Bézier with evenly spaced times is the smoothstep 3t² - 2t³
        (
            (1 / 3, 0, 2 / 3, 1),
            [0.028, 0.104, 0.216, 0.352, 0.5, 0.648, 0.784, 0.896, 0.972],
        ),
    ],
)
def test_the_curve_passes_through_the_published_values(points, expected):
    assert cubic_bezier(*points, TENTHS) == pytest.approx(expected, abs=0.00005)


@pytest.mark.parametrize("kind", CONTROL_POINTS)
def test_every_ease_starts_at_nothing_ends_at_all_and_never_turns_back(kind):
    progress = ease(kind, np.linspace(0, 1, 101))
    assert progress[0] == pytest.approx(0, abs=1e-12)
    assert progress[-1] == pytest.approx(1, abs=1e-12)
    assert (np.diff(progress) > 0).all()


def test_even_is_a_straight_line():
    assert ease("even", TENTHS) == pytest.approx(TENTHS, abs=1e-12)


def test_ease_in_starts_gently_and_ease_out_is_its_mirror():
    assert ease("in", 0.1) < 0.1
    assert ease("out", TENTHS) == pytest.approx(1 - ease("in", 1 - TENTHS), abs=1e-12)


def test_every_ease_has_words_that_say_which_end_is_gentle():
    assert WORDS.keys() == CONTROL_POINTS.keys()


def test_an_unknown_ease_is_refused_with_the_choice():
    with pytest.raises(ValueError, match=r"even, in, out, both; got 'bouncy'"):
        ease("bouncy", 0.5)


def test_a_curve_on_which_time_runs_backwards_is_refused():
    with pytest.raises(ValueError, match=r"between 0 and 1, got -0\.1"):
        cubic_bezier(-0.1, 0, 1, 1, 0.5)

"""The flash caution against the definitions of WCAG 2.2 SC 2.3.1."""

import numpy as np
import pytest

from clients.trade.checks.cells import UNITS
from clients.trade.checks.flash import FlashCounter, linear, linear_rgb

ROWS, COLUMNS = 48, 64


def counted(frames, rate=24, area=slice(None)):
    """Counts 8-bit sRGB (r, g, b) frames shown on part of a black screen."""
    counter = FlashCounter(ROWS, COLUMNS, rate)
    for colour in frames:
        rgb = np.zeros((3, ROWS, COLUMNS), np.float32)
        rgb[:, area, area] = linear(np.array(colour) / 255)[:, None, None]
        counter.add(rgb.reshape(3, -1))
    return counter.facts()


def greys(*codes):
    return [(code, code, code) for code in codes]


# Relative luminance on sRGB greys, step of at least 0.10 (WCAG 2.2, values as in a public set of
# test signals): 64 to 109 is 0.1016, 64 to 108 is 0.0987; 0 needs 90; 231 is below 0.80, 232 over.
@pytest.mark.parametrize(
    ("dark", "light", "flashes"),
    [
        (64, 109, True),
        (64, 108, False),
        (0, 90, True),
        (0, 89, False),
        (128, 153, True),
        (128, 152, False),
        (231, 255, True),
        (232, 255, False),
    ],
)
def test_luminance_step_and_darker_state(dark, light, flashes):
    facts = counted(greys(*[dark, light] * 12))
    assert (facts.general > 3) is flashes


@pytest.mark.parametrize(("turns", "too_many"), [(6, False), (7, True)])
def test_three_flashes_pass_and_seven_turns_do_not(turns, too_many):
    """Six alternating transitions in one second pass, seven fail (public test signals)."""
    codes = [0] * 3 + [(255 if turn % 2 == 0 else 0) for turn in range(turns) for _ in range(3)]
    last = 255 if turns % 2 else 0
    facts = counted(greys(*codes, *[last] * 48))
    assert (facts.general > 3) is too_many


def test_slow_changes_never_add_up():
    frames = [code for _ in range(8) for code in [0] * 12 + [255] * 12]
    assert counted(greys(*frames)).general <= 1.5


def test_a_gradual_rise_counts_once():
    assert counted(greys(*range(0, 250, 10))).general == 0.5


def test_red_against_grey_of_the_same_luminance():
    """R/(R+G+B) of 0.8 or more, and more than 0.2 apart in u'v' (WCAG 2.2)."""
    grey = [(127, 127, 127)] * 2  # sRGB 127 has luminance 0.2122, pure red 0.2126
    facts = counted([*grey, *([(255, 0, 0)] * 2 + grey) * 6])
    assert facts.general == 0
    assert facts.red > 3


def test_blue_is_not_red():
    facts = counted([(80, 80, 80), (0, 0, 255)] * 12)
    assert facts.red == 0


def test_a_small_flashing_area_is_no_flash():
    """A quarter of a field of 341 x 256 px on 1024 x 768 is 21,824 px: 2.8 % of the screen."""
    frames = greys(*[0, 255] * 12)
    assert counted(frames, area=slice(0, 9)).general == 0  # 81 of 3072 cells: 2.6 %
    assert counted(frames, area=slice(0, 10)).general > 3  # 100 of 3072 cells: 3.3 %


# ITU-R BT.709 codes for primaries at 8 bits, limited range (H.264 E.2.1 and table E-5).
@pytest.mark.parametrize(
    ("code", "rgb"),
    [
        ((16, 128, 128), (0, 0, 0)),
        ((235, 128, 128), (1, 1, 1)),
        ((63, 102, 240), (1, 0, 0)),
        ((173, 42, 26), (0, 1, 0)),
        ((32, 240, 118), (0, 0, 1)),
    ],
)
def test_video_codes_become_light(code, rgb):
    cells = [np.array([value * UNITS], np.int16) for value in code]
    assert linear_rgb(*cells, matrix=1, full_range=False)[:, 0] == pytest.approx(rgb, abs=0.02)

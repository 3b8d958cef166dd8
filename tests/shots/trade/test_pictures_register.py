"""Registration against scikit-image's own, and against movements made exactly."""

import numpy as np
import pytest
from skimage import data
from skimage.registration import phase_cross_correlation
from skimage.transform import rotate

from shots.trade.pictures.register import Pose, moved_by, prepare, register, rms_motion

PHOTOGRAPH = data.camera().astype(np.float32)  # 512 by 512, shipped inside scikit-image
SIZE = (1920, 1080)  # native pixels, twelve to a grey sample


def small(right: int = 0, down: int = 0) -> np.ndarray:
    """The photograph at a third, its content moved by whole pixels of the large one, then averaged;
    cut from its middle so nothing wraps around."""
    cut = PHOTOGRAPH[100 - down : 370 - down, 10 - right : 490 - right]
    return cut.reshape(90, 3, 160, 3).mean((1, 3))


@pytest.mark.parametrize(("right", "down"), [(0, 0), (1, 0), (0, -1), (2, 1), (-4, 5), (9, -30)])
def test_shifts_agree_with_an_independent_implementation(right, down):
    before, after = small(), small(right, down)
    # scikit-image docs: it returns the shift that brings the second on to the first, (row, column),
    # so the movement is its negative. 0.1 sample: its measured error on windowed photographs.
    window = np.hanning(90)[:, None] * np.hanning(160)
    theirs, _, _ = phase_cross_correlation(
        before * window, after * window, upsample_factor=100, normalization=None
    )
    pose = register(prepare(before, SIZE), prepare(after, SIZE))
    assert pose.dx / 12 == pytest.approx(right / 3, abs=0.02)
    assert pose.dy / 12 == pytest.approx(down / 3, abs=0.02)
    if max(abs(right), abs(down)) < 9:
        assert pose.dx / 12 == pytest.approx(-theirs[1], abs=0.12)
        assert pose.dy / 12 == pytest.approx(-theirs[0], abs=0.12)


def test_a_quarter_of_the_frame_moving_otherwise_is_outvoted():
    before, after = small(), small(1, 0)
    after[20:65, 40:120] = small(-12, 9)[20:65, 40:120]
    pose = register(prepare(before, SIZE), prepare(after, SIZE))
    assert (pose.dx, pose.dy) == (pytest.approx(4, abs=0.2), pytest.approx(0, abs=0.2))


def test_a_turn_is_told():
    # Turned clockwise as seen by scikit-image, about the middle of the part that is cut out.
    turned = rotate(PHOTOGRAPH, -0.25, center=(249.5, 234.5), order=3, preserve_range=True)
    after = turned[100:370, 10:490].reshape(90, 3, 160, 3).mean((1, 3)).astype(np.float32)
    pose = register(prepare(small(), SIZE), prepare(after, SIZE))
    assert np.degrees(pose.turn) == pytest.approx(0.25, abs=0.005)
    assert abs(pose.dx) + abs(pose.dy) < 0.2


def test_unrelated_pictures_do_not_agree():
    other = data.moon().astype(np.float32)[100:370, 10:490].reshape(90, 3, 160, 3).mean((1, 3))
    assert register(prepare(small(), SIZE), prepare(other, SIZE)).share < 0.3


def test_a_blank_picture_gives_no_hold():
    blank = prepare(np.full((90, 160), 90.0, np.float32), SIZE)
    assert register(blank, blank).doubt == np.inf


def test_rotation_counts_as_its_mean_over_the_frame():
    # Mean square distance from the centre of a 3 by 4 rectangle: (9 + 16) / 12.
    assert rms_motion(np.array([0, 0, 1.0]), (3, 4)) == pytest.approx(1.443376, abs=1e-6)
    assert rms_motion(np.array([3.0, 4.0, 0]), (1920, 1080)) == pytest.approx(5)


def test_a_clockwise_turn_moves_the_right_edge_down():
    right, down = moved_by(Pose(turn=0.01), (9, 9), (900, 900))
    assert down[4, 8] == pytest.approx(0.04)
    assert right[0, 4] == pytest.approx(0.04)

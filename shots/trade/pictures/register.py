"""How far one picture has moved against another, told by the quiet background.

The small grey pictures differ, to first order, by the gradient times the movement (optical flow,
Lucas and Kanade 1981). Each patch of the frame is compared with one movement for the whole frame,
and a patch that does not agree (the puppet, a hand) loses its say, round by round, until the
majority settles: iteratively reweighted least squares. What is fitted is a shift, a turn and a
change of scale (lenses breathe); the scale only keeps the other three honest.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from .measure import SAMPLES

PATCH = 8  # grey samples, each way
ROUNDS = 12  # of reweighting
STEPS = 5  # at most
ONE_STEP = 0.7  # grey samples a single step covers truly
SMALL = 0.02  # grey samples; less than this is left where it is
NOISE = 0.01  # mean square in code values below which no patch is better than another
QUIETEST = 30  # per cent of the patches that set what a quiet misfit is
TEXTURE = 1.0  # mean square slope, code values per sample, of a patch with a say in `share`
AGREES = 6.0  # times the quiet patches' own misfit
LEAST_SHARE = 0.3  # of the textured patches must agree
LEAST_LIKENESS = 0.3  # of the middle textured tile, or the pictures show different things


@dataclass(frozen=True)
class Pose:
    """Movement of the picture's content: `dx`, `dy` native pixels (right, down), `turn` in
    radians (clockwise as seen), `zoom` a share. `share` is the part of patches that agree."""

    dx: float = 0.0
    dy: float = 0.0
    turn: float = 0.0
    zoom: float = 0.0
    share: float = 1.0

    def vector(self) -> np.ndarray:
        return np.array([self.dx, self.dy, self.turn, self.zoom])


@dataclass(frozen=True)
class Frame:
    """One small grey picture prepared for comparison: its fine structure and gradients."""

    grey: np.ndarray
    fine: np.ndarray
    size: tuple[int, int]  # native width, height


def prepare(grey: np.ndarray, size: tuple[int, int]) -> Frame:
    """`grey` as in `Planes`; `size` is (width, height) in native pixels."""
    # The finest structure is dropped: neither slopes nor interpolation are true to it.
    soft = _binomial(_binomial(grey).T).T
    return Frame(grey, soft - _box_mean(soft, 6), size)


def register(before: Frame, after: Frame, guess: Pose | None = None) -> Pose:
    """Movement from `before` to `after`; both must have the same shape."""
    pose = _settle(before, after, guess or Pose())
    if pose.share < 2 * LEAST_SHARE:
        # Far from home the first-order step may be lost: ask where the whole frame fits best.
        far = _settle(before, after, _coarse(before, after))
        if far.share > pose.share:
            pose = far
    if _likeness(before, after, pose) < LEAST_LIKENESS:
        return replace(pose, share=0.0)
    return pose


def _likeness(before: Frame, after: Frame, pose: Pose) -> float:
    """How alike the fine structure of two pictures is, 0 to 1: the middle textured tile's.

    Two unrelated pictures can agree on hardly moving at all, patch by patch; what they show
    still has nothing in common. Pictures without texture cannot be told apart this way: 1.
    """
    moved = aligned(after.fine, pose, after.size)
    both = _tile_means(before.fine * moved)
    energy = _tile_means(before.fine**2) + _tile_means(moved**2)
    textured = energy > 2 * TEXTURE
    return float(np.median((2 * both / energy)[textured])) if textured.any() else 1.0


def _tile_means(plane: np.ndarray) -> np.ndarray:
    rows, columns = (edge // SAMPLES for edge in plane.shape)
    return plane.reshape(rows, SAMPLES, columns, SAMPLES).mean((1, 3))


def aligned(grey: np.ndarray, pose: Pose, size: tuple[int, int]) -> np.ndarray:
    """A small picture (rows, columns) moved back by `pose`; itself when it has hardly moved."""
    dx, dy = _samples_moved(pose, grey.shape, size)
    if max(abs(dx).max(), abs(dy).max()) < SMALL:
        return grey
    if np.ptp(dx) + np.ptp(dy) < SMALL and _whole(dx) and _whole(dy):
        rows = np.clip(np.arange(grey.shape[0]) + round(float(dy.mean())), 0, grey.shape[0] - 1)
        columns = np.clip(np.arange(grey.shape[1]) + round(float(dx.mean())), 0, grey.shape[1] - 1)
        return grey[np.ix_(rows, columns)]
    y, x = np.indices(grey.shape, np.float32)
    return _cubic(grey, y + dy, x + dx)


def _whole(moved: np.ndarray) -> bool:
    return abs(moved.mean() - round(float(moved.mean()))) < SMALL


def quiet_tiles(before: Frame, after: Frame, pose: Pose) -> np.ndarray:
    """Tiles in which nothing but the camera moved, shape (rows, columns) of tiles."""
    misfit = before.fine - aligned(after.fine, pose, after.size)
    energy = _tile_means(misfit**2)
    restless = energy > AGREES * (np.percentile(energy, QUIETEST) + NOISE)
    return _box_mean(restless, 1) < 0.3  # two neighbours that moved: it stands too near


def rms_motion(vector: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """Root mean square movement over the frame, native pixels, of (..., dx, dy, turn)."""
    width, height = size
    around = (width**2 + height**2) / 12  # mean square distance from the centre of a rectangle
    return np.sqrt(vector[..., 0] ** 2 + vector[..., 1] ** 2 + vector[..., 2] ** 2 * around)


def _settle(before: Frame, after: Frame, pose: Pose) -> Pose:
    """Step until what is left is well under a sample, where one step is true."""
    for _ in range(STEPS):
        base = _base(pose, before)
        step, share = _step(before.fine, aligned(after.fine, base, after.size), before.size)
        pose = Pose(*(base.vector() + step), share)
        dx, dy = _samples_moved(Pose(*step), before.grey.shape, before.size)
        if max(abs(dx).max(), abs(dy).max()) < ONE_STEP:
            break
    return pose


def _base(pose: Pose, frame: Frame) -> Pose:
    """The part of a movement to take out before a step: whole samples, which need no
    interpolation and so add no error of their own; all of it where it turns or scales much."""
    rows, columns = frame.grey.shape
    per_x, per_y = columns / frame.size[0], rows / frame.size[1]
    turning = Pose(turn=pose.turn, zoom=pose.zoom)
    dx, dy = _samples_moved(turning, frame.grey.shape, frame.size)
    if max(abs(dx).max(), abs(dy).max()) > ONE_STEP / 2:
        return pose
    return Pose(round(pose.dx * per_x) / per_x, round(pose.dy * per_y) / per_y)


def _step(before: np.ndarray, after: np.ndarray, size: tuple[int, int]) -> tuple[np.ndarray, float]:
    """One robust least-squares step and the share of patches that agree with it."""
    between = (before + after) / 2
    gy, gx = _slope(between.T).T, _slope(between)
    x, y = _native_places(before.shape, size)
    per_x, per_y = before.shape[1] / size[0], before.shape[0] / size[1]
    gx, gy = gx * per_x, gy * per_y  # code values per native pixel
    slopes = np.stack([gx, gy, gy * x - gx * y, gx * x + gy * y])
    misfit = before - after  # content moved by u changes the picture by -gradient·u
    inner = (slice(None), slice(2, -2), slice(2, -2))  # gradients at the rim are half a guess
    slopes, misfit = slopes[inner], misfit[2:-2, 2:-2]
    normal, right, energy = _patch_sums(slopes, misfit)

    textured = _textured(normal, size, before.shape)

    scale = np.sqrt(normal.sum(0).diagonal()) + 1e-12  # so the four unknowns weigh alike
    normal, right = normal / np.outer(scale, scale), right / scale
    step = np.zeros(4)
    ridge = 1e-6 * np.eye(4)
    for _ in range(ROUNDS):
        left = np.maximum(
            energy - 2 * right @ step + np.einsum("i,nij,j->n", step, normal, step), 0
        )
        quiet = np.percentile(left, QUIETEST) + NOISE
        weight = 1 / (1 + (left / (2 * quiet)) ** 2)
        step = np.linalg.solve(np.tensordot(weight, normal, 1) + ridge, weight @ right)
    agrees = left < AGREES * quiet
    return step / scale, float(agrees[textured].mean()) if textured.any() else 0.0


def _slope(plane: np.ndarray) -> np.ndarray:
    """Derivative along the rows, per sample; five points, true to one part in a hundred for all
    the smoothing has left. The two columns at either rim stay 0."""
    slope = np.zeros_like(plane)
    slope[:, 2:-2] = (8 * (plane[:, 3:-1] - plane[:, 1:-3]) - plane[:, 4:] + plane[:, :-4]) / 12
    return slope


def _textured(normal: np.ndarray, size: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    """Patches with structure enough to tell where they are."""
    per_x, per_y = shape[1] / size[0], shape[0] / size[1]
    return normal[:, 0, 0] / per_x**2 + normal[:, 1, 1] / per_y**2 > TEXTURE


def _patch_sums(slopes, misfit):
    """Normal matrix, right side and misfit energy of each patch, as means over its samples."""
    height, width = misfit.shape
    rows, columns = height // PATCH, width // PATCH

    def cut(plane):
        plane = plane[..., : rows * PATCH, : columns * PATCH]
        shape = (*plane.shape[:-2], rows, PATCH, columns, PATCH)
        plane = np.moveaxis(plane.reshape(shape), -2, -3)
        return plane.reshape(*plane.shape[:-4], rows * columns, PATCH * PATCH)

    slopes, misfit = cut(slopes), cut(misfit)
    slopes = np.moveaxis(slopes, 0, 1)  # (patches, 4, samples)
    count = PATCH * PATCH
    normal = slopes @ np.swapaxes(slopes, 1, 2) / count
    right = (slopes @ misfit[..., None])[..., 0] / count
    return normal.astype(float), right.astype(float), (misfit**2).mean(-1).astype(float)


@lru_cache(maxsize=4)
def _native_places(shape: tuple[int, int], size: tuple[int, int]):
    """Native pixel coordinates of the samples, from the centre of the frame."""
    x = ((np.arange(shape[1], dtype=np.float32) + 0.5) / shape[1] - 0.5) * size[0]
    y = ((np.arange(shape[0], dtype=np.float32) + 0.5) / shape[0] - 0.5) * size[1]
    return x[None, :], y[:, None]


def _samples_moved(pose: Pose, shape, size) -> tuple[np.ndarray, np.ndarray]:
    """Movement of each sample, in samples."""
    x, y = _native_places(shape, size)
    u = pose.dx - pose.turn * y + pose.zoom * x
    v = pose.dy + pose.turn * x + pose.zoom * y
    return u * shape[1] / size[0], v * shape[0] / size[1]


def _coarse(before: Frame, after: Frame) -> Pose:
    """Phase correlation of the whole frame, to one sample."""
    height, width = before.fine.shape
    window = np.hanning(height)[:, None] * np.hanning(width)
    cross = np.fft.rfft2(before.fine * window).conj() * np.fft.rfft2(after.fine * window)
    peak = np.fft.irfft2(cross / (np.abs(cross) + 1e-3), (height, width))
    row, column = np.unravel_index(np.argmax(peak), peak.shape)
    row -= height * (row > height // 2)
    column -= width * (column > width // 2)
    return Pose(column * before.size[0] / width, row * before.size[1] / height)


def _cubic(plane: np.ndarray, y: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Catmull-Rom interpolation at rows `y` and columns `x`; outside, the nearest edge."""
    height, width = plane.shape
    row, column = np.floor(y).astype(int), np.floor(x).astype(int)
    down, across = _catmull(y - row), _catmull(x - column)
    out = np.zeros_like(plane)
    for j in range(4):
        r = np.clip(row + j - 1, 0, height - 1)
        line = sum(across[i] * plane[r, np.clip(column + i - 1, 0, width - 1)] for i in range(4))
        out += down[j] * line
    return out.astype(np.float32)


def _catmull(t: np.ndarray) -> list[np.ndarray]:
    return [
        ((-0.5 * t + 1) * t - 0.5) * t,
        (1.5 * t - 2.5) * t * t + 1,
        ((-1.5 * t + 2) * t + 0.5) * t,
        (0.5 * t - 0.5) * t * t,
    ]


def _binomial(plane: np.ndarray) -> np.ndarray:
    """Smoothed along the rows by 1 4 6 4 1, a bell of one sample's sigma."""
    wide = np.pad(plane, ((0, 0), (2, 2)), "edge")
    sides = 4 * (wide[:, 1:-3] + wide[:, 3:-1]) + wide[:, :-4] + wide[:, 4:]
    return (6 * plane + sides) / 16


def _box_mean(plane: np.ndarray, radius: int) -> np.ndarray:
    """Mean over a square of 2·radius + 1 samples, the edge repeated."""
    for axis in (0, 1):
        pad = [(0, 0), (0, 0)]
        pad[axis] = (radius + 1, radius)
        total = np.cumsum(np.pad(plane, pad, "edge"), axis, dtype=np.float64)
        width = 2 * radius + 1
        upper = np.take(total, np.arange(width, total.shape[axis]), axis)
        lower = np.take(total, np.arange(total.shape[axis] - width), axis)
        plane = (upper - lower) / width
    return plane.astype(np.float32)

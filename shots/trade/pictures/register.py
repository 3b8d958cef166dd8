"""How far one picture has moved against another, told by the quiet background.

The small grey pictures differ, to first order, by the gradient times the movement (optical flow,
Lucas and Kanade 1981). Each patch of the frame is compared with one movement for the whole frame,
and a patch that does not agree (the puppet, a hand) loses its say, round by round, until the
majority settles: iteratively reweighted least squares. What is fitted is a shift, a turn and a
change of scale (lenses breathe); the scale only keeps the other three honest.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .measure import SAMPLES
from .robust import quantile

BELL = (1, 4, 6, 4, 1)  # near enough a Gaussian of one sample
PATCH = 8  # grey samples, each way
ROUNDS = 12  # of reweighting
STEPS = 5  # at most
ONE_STEP = 0.7  # grey samples a single step covers truly
SMALL = 0.02  # grey samples; less than this is left where it is
NOISE = 0.01  # mean square in code values below which no patch is better than another
QUIETEST = 0.3  # of the patches set what a quiet misfit is
TEXTURE = 0.15  # mean square slope, code values per sample, of a patch with a say in `share`
LEAST_TEXTURED = 6  # patches; with fewer there is nothing to hold on to
AGREES = 6.0  # times the quiet patches' own misfit
EXPLAINED = 0.25  # of a patch's energy may be left over, or it shows something else
RIDGE = 1e-6
RIM = 2
FAR_MARGIN = 0.15  # of share; a camera that stood is likelier than one that leapt
LEAST_SHARE = 0.3  # of the textured patches must agree


@dataclass(frozen=True)
class Pose:
    """Movement of the picture's content: `dx`, `dy` native pixels (right, down), `turn` in
    radians (clockwise as seen), `zoom` a share. `share` is the part of patches that agree, `doubt`
    the standard error of the movement, native pixels, root mean square over the frame; infinite
    where there is too little structure to tell."""

    dx: float = 0.0
    dy: float = 0.0
    turn: float = 0.0
    zoom: float = 0.0
    share: float = 1.0
    doubt: float = 0.0

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
    soft = _weighted(grey, BELL)
    return Frame(grey, soft - box_mean(soft, 6), size)


def is_blank(frame: Frame) -> bool:
    """One tone all over, black, white or between: nothing to hold on to."""
    steep = _cut(_slope(frame.fine) ** 2 + _slope(frame.fine.T).T ** 2).mean(-1)
    return bool((steep > TEXTURE).sum() < LEAST_TEXTURED)


def register(before: Frame, after: Frame, guess: Pose | None = None) -> Pose:
    """Movement from `before` to `after`; both must have the same shape."""
    pose = _settle(before, after, guess or Pose())
    if pose.share < 2 * LEAST_SHARE:
        # Far from home the first-order step may be lost: ask where the whole frame fits best.
        far = _settle(before, after, _coarse(before, after))
        if far.share > pose.share + FAR_MARGIN:
            pose = far
    return pose


def aligned(grey: np.ndarray, pose: Pose, size: tuple[int, int]) -> np.ndarray:
    """A small picture (rows, columns) moved back by `pose`; itself when it has hardly moved."""
    dx, dy = moved_by(pose, grey.shape, size)
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
    rows, columns = (edge // SAMPLES for edge in misfit.shape)
    energy = (misfit**2).reshape(rows, SAMPLES, columns, SAMPLES).mean((1, 3))
    restless = energy > AGREES * (quantile(energy, QUIETEST) + NOISE)
    # A tile stands too near what moved when it or three of the tiles around it did.
    return box_mean(restless.astype(np.float32), 1) < 0.3


def moved_by(
    pose: Pose, shape: tuple[int, int], size: tuple[int, int]
) -> tuple[np.ndarray, np.ndarray]:
    """How far `pose` moves each cell of a grid of `shape` over the frame, right and down, in
    cells."""
    x, y = _native_places(shape, size)
    u = pose.dx - pose.turn * y + pose.zoom * x
    v = pose.dy + pose.turn * x + pose.zoom * y
    return u * shape[1] / size[0], v * shape[0] / size[1]


def rms_motion(vector: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """Root mean square movement over the frame, native pixels, of (..., dx, dy, turn)."""
    width, height = size
    around = (width**2 + height**2) / 12  # mean square distance from the centre of a rectangle
    return np.sqrt(vector[..., 0] ** 2 + vector[..., 1] ** 2 + vector[..., 2] ** 2 * around)


def _settle(before: Frame, after: Frame, pose: Pose) -> Pose:
    """Step until what is left is well under a sample, where one step is true."""
    for _ in range(STEPS):
        base = _base(pose, before)
        step = _step(before.fine, aligned(after.fine, base, after.size), before.size)
        pose = Pose(*(base.vector() + step.vector()), step.share, step.doubt)
        dx, dy = moved_by(step, before.grey.shape, before.size)
        if max(abs(dx).max(), abs(dy).max()) < ONE_STEP:
            break
    return pose


def _base(pose: Pose, frame: Frame) -> Pose:
    """The part of a movement to take out before a step: whole samples, which need no
    interpolation and so add no error of their own; all of it where it turns or scales much."""
    rows, columns = frame.grey.shape
    per_x, per_y = columns / frame.size[0], rows / frame.size[1]
    turning = Pose(turn=pose.turn, zoom=pose.zoom)
    dx, dy = moved_by(turning, frame.grey.shape, frame.size)
    if max(abs(dx).max(), abs(dy).max()) > ONE_STEP / 2:
        return pose
    return Pose(round(pose.dx * per_x) / per_x, round(pose.dy * per_y) / per_y)


def _step(before: np.ndarray, after: np.ndarray, size: tuple[int, int]) -> Pose:
    """One robust least-squares step."""
    patches = _patches(before, after, size)
    if patches.textured.sum() < LEAST_TEXTURED:
        return Pose(doubt=np.inf)
    # So the four unknowns weigh alike.
    scale = np.sqrt(patches.normal.sum(0).diagonal()) + 1e-12
    normal, right = patches.normal / np.outer(scale, scale), patches.right / scale
    step = np.zeros(4)
    for _ in range(ROUNDS):
        left = patches.energy - 2 * right @ step + np.einsum("i,nij,j->n", step, normal, step)
        left = np.maximum(left, 0)
        quiet = quantile(left, QUIETEST) + NOISE
        weight = 1 / (1 + (left / (2 * quiet)) ** 2)
        bread = np.linalg.inv(np.tensordot(weight, normal, 1) + RIDGE * np.eye(4))
        step = bread @ (weight @ right)
    agrees = (left < AGREES * quiet) & (left < EXPLAINED * patches.structure + NOISE)
    # Standard error from the patches' own disagreement (the sandwich estimator).
    pull = weight[:, None] * (right - normal @ step)
    spread = np.sqrt((bread @ (pull.T @ pull) @ bread).diagonal()) / scale
    return Pose(
        *(step / scale),
        share=float(agrees[patches.textured].mean()),
        doubt=float(rms_motion(spread, size)),
    )


@dataclass(frozen=True)
class _Patches:
    """Per patch, as means over its samples: the normal matrix and right side of the least squares,
    the energy of the misfit and of the pictures themselves; and which have enough structure to
    tell where they are."""

    normal: np.ndarray
    right: np.ndarray
    energy: np.ndarray
    structure: np.ndarray
    textured: np.ndarray


def _patches(before: np.ndarray, after: np.ndarray, size: tuple[int, int]) -> _Patches:
    between = (before + after) / 2
    gy, gx = _slope(between.T).T, _slope(between)
    steep = _cut(gx**2 + gy**2).mean(-1)
    x, y = _native_places(before.shape, size)
    gx *= before.shape[1] / size[0]  # code values per native pixel
    gy *= before.shape[0] / size[1]
    slopes = np.stack([_cut(s) for s in (gx, gy, gy * x - gx * y, gx * x + gy * y)], axis=1)
    # Content moved by u changes the picture by -gradient·u.
    misfit = _cut(before - after)
    samples = PATCH * PATCH
    return _Patches(
        normal=(slopes @ np.swapaxes(slopes, 1, 2) / samples).astype(float),
        right=((slopes @ misfit[..., None])[..., 0] / samples).astype(float),
        energy=(misfit**2).mean(-1).astype(float),
        structure=(_cut(before) ** 2 + _cut(after) ** 2).mean(-1),
        textured=steep > TEXTURE,
    )


def _cut(plane: np.ndarray) -> np.ndarray:
    """The plane in patches, (patches, samples); left out: the rim, where slopes are a guess."""
    plane = plane[RIM:-RIM, RIM:-RIM]
    rows, columns = plane.shape[0] // PATCH, plane.shape[1] // PATCH
    plane = plane[: rows * PATCH, : columns * PATCH].reshape(rows, PATCH, columns, PATCH)
    return plane.swapaxes(1, 2).reshape(rows * columns, PATCH * PATCH)


def _slope(plane: np.ndarray) -> np.ndarray:
    """Derivative along the rows, per sample; five points, true to one part in a hundred for all
    the smoothing has left. The two columns at either rim stay 0."""
    slope = np.zeros_like(plane)
    slope[:, 2:-2] = (8 * (plane[:, 3:-1] - plane[:, 1:-3]) - plane[:, 4:] + plane[:, :-4]) / 12
    return slope


@lru_cache(maxsize=4)
def _native_places(shape: tuple[int, int], size: tuple[int, int]):
    """Native pixel coordinates of the samples, from the centre of the frame."""
    x = ((np.arange(shape[1], dtype=np.float32) + 0.5) / shape[1] - 0.5) * size[0]
    y = ((np.arange(shape[0], dtype=np.float32) + 0.5) / shape[0] - 0.5) * size[1]
    return x[None, :], y[:, None]


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


def box_mean(plane: np.ndarray, radius: int) -> np.ndarray:
    """Mean over a square of 2·radius + 1 samples, the edge repeated."""
    bell = (1,) * (2 * radius + 1)
    return _weighted(plane, bell)


def _weighted(plane: np.ndarray, bell: tuple[int, ...]) -> np.ndarray:
    """Weighted mean of each sample's neighbours, along and across."""
    return _band(plane.shape[0], bell) @ plane @ _band(plane.shape[1], bell).T


@lru_cache(maxsize=32)
def _band(length: int, bell: tuple[int, ...]) -> np.ndarray:
    """The weighting as a matrix; what would reach outside falls on the edge."""
    band = np.zeros((length, length), np.float32)
    for offset, weight in enumerate(bell, -(len(bell) // 2)):
        near = np.clip(np.arange(length) + offset, 0, length - 1)
        band[np.arange(length), near] += weight / sum(bell)
    return band

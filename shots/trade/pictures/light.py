"""Light and colour of one picture against another, from the tiles that are quiet in both."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .register import Pose, aligned, moved_by
from .robust import ROUNDS, biweight, settled_mean

DARKEST = np.log(0.004)  # of linear light; below, one code value is more than 10 % of the light
BRIGHTEST = np.log(0.85)  # above, part of the tile may be burnt out and cannot follow the lamp
FAR = 0.25  # tiles; moved further, the tiles are interpolated back first
CARRIED = 0.02  # a tile whose light a bump changes by more tells nothing of the lamps
PLACES = (3, 5)  # rows, columns at which the surface of the light's change is read
LEAST_FOR_SURFACE = 60  # tiles


@dataclass(frozen=True)
class Light:
    """Natural logarithms of ratios of linear light, None where too few tiles can tell.

    `gain` is that of green, which most of luminance is and which a shift of red against blue leaves
    alone; `rb` that of red against blue; `surface` (15,) the gain over the frame, smoothed: one
    lamp of several tilts it."""

    gain: float | None
    rb: float | None
    surface: np.ndarray | None


def compare_light(
    before: np.ndarray, after: np.ndarray, quiet: np.ndarray, pose: Pose, size: tuple[int, int]
) -> Light:
    """`before` and `after` are the `light` of two `Planes`; `quiet` is True for the tiles in which
    nothing moved, shape (rows, columns); `pose` is the camera's movement between the two, `size`
    the picture's in native pixels."""
    across, down = moved_by(pose, quiet.shape, size)
    if max(abs(across).max(), abs(down).max()) > FAR:
        after = np.stack([aligned(after[..., c], pose, size) for c in range(3)], axis=-1)
        across, down = np.zeros(2)
    red, green, blue = (np.stack([before[..., c], after[..., c]]) for c in range(3))
    rising_down, rising_across = np.gradient(green.mean(0))
    # What the camera's movement carried into each tile, to first order.
    carried = -(across * rising_across + down * rising_down)
    usable = quiet & (abs(carried) < CARRIED) & _exposed(green)
    ratio = green[1] - green[0] - carried
    coloured = usable & _exposed(red) & _exposed(blue)
    balance = (red[1] - red[0]) - (blue[1] - blue[0])
    return Light(
        gain=settled_mean(ratio[usable]),
        rb=settled_mean(balance[coloured]),
        surface=_surface(ratio, usable, green[0]),
    )


def _exposed(pair: np.ndarray) -> np.ndarray:
    """True where a channel of both pictures (2, rows, columns) is neither dark nor burnt out."""
    return ((pair > DARKEST) & (pair < BRIGHTEST)).all(0)


def _surface(ratio: np.ndarray, usable: np.ndarray, light: np.ndarray) -> np.ndarray | None:
    """The smooth surface through the usable tiles' ratios, where it is read; by iteratively
    reweighted least squares. The brighter a tile, the less noise it has, and the more say."""
    if usable.sum() < LEAST_FOR_SURFACE:
        return None
    terms, values = _terms(usable.shape)[usable], ratio[usable]
    trust = np.exp(light[usable])
    trust /= trust.mean()
    weight = trust
    for _ in range(ROUNDS):
        weighted = (terms * weight[:, None]).T
        fitted = np.linalg.solve(weighted @ terms + np.eye(terms.shape[1]), weighted @ values)
        weight = trust * biweight((values - terms @ fitted) * np.sqrt(trust))
    return _terms(PLACES).reshape(-1, terms.shape[1]) @ fitted


@lru_cache(maxsize=8)
def _terms(shape: tuple[int, int]) -> np.ndarray:
    """What a surface is made of, over a grid on the frame: level, the two tilts, and a bulge in
    its middle, since lamps mostly stand side by side."""
    down, across = (np.linspace(-1, 1, 2 * edge + 1)[1::2] for edge in shape)
    y, x = np.meshgrid(down, across, indexing="ij")
    return np.stack([np.ones(shape), x, y, x**2 - 1 / 3], axis=-1)

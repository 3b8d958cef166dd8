"""Light and colour of one picture against another, from the tiles that are quiet in both."""

from dataclasses import dataclass

import numpy as np

from .register import Pose, aligned, moved_by

DARKEST = np.log(0.004)  # of linear light; below, one code value is more than 10 % of the light
BRIGHTEST = np.log(0.85)  # above, part of the tile may be burnt out and cannot follow the lamp
LEAST_TILES = 20
FAR = 0.25  # tiles; moved further, the tiles are interpolated back first
CARRIED = 0.02  # a tile whose light a bump changes by more tells nothing of the lamps
REGIONS = (3, 4)  # rows, columns: coarse enough to average, fine enough for one lamp of several
LEAST_IN_REGION = 12


@dataclass(frozen=True)
class Light:
    """Natural logarithms of ratios of linear light, None where too few tiles can tell.

    `gain` is that of green, which most of luminance is and which a shift of red against blue leaves
    alone; `rb` that of red against blue; `regions` (12,) the gain of each region beyond the common
    one, nan where a region cannot tell."""

    gain: float | None
    rb: float | None
    regions: np.ndarray


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
    gain = settled_mean(ratio[usable])
    return Light(
        gain=gain,
        rb=settled_mean(balance[coloured]),
        regions=_regions(ratio - (gain or 0), usable),
    )


def settled_mean(values: np.ndarray) -> float | None:
    """Mean by Tukey's biweight, which ignores what lies far from the majority.

    None for fewer than 20 values.
    """
    if values.size < LEAST_TILES:
        return None
    centre = np.median(values)
    for _ in range(5):
        spread = np.median(abs(values - centre)) * 6 + 1e-6
        weight = np.clip(1 - ((values - centre) / spread) ** 2, 0, None) ** 2
        centre = (weight * values).sum() / weight.sum()
    return float(centre)


def _exposed(pair: np.ndarray) -> np.ndarray:
    """True where a channel of both pictures (2, rows, columns) is neither dark nor burnt out."""
    return ((pair > DARKEST) & (pair < BRIGHTEST)).all(0)


def _regions(ratio: np.ndarray, usable: np.ndarray) -> np.ndarray:
    rows, columns = REGIONS
    out = np.full(rows * columns, np.nan)
    cells = np.where(usable, ratio, np.nan)
    for n, band in enumerate(np.array_split(cells, rows, 0)):
        for m, cell in enumerate(np.array_split(band, columns, 1)):
            seen = cell[~np.isnan(cell)]
            if seen.size >= LEAST_IN_REGION:
                out[n * columns + m] = np.median(seen)
    return out

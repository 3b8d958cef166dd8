"""Light and colour of one picture against another, from the tiles that are quiet in both."""

from dataclasses import dataclass

import numpy as np

from .measure import Planes

LUMINANCE = np.array([0.2126, 0.7152, 0.0722])  # BT.709
DARKEST = np.log(0.004)  # of linear light; below, one code value is more than 10 % of the light
BRIGHTEST = np.log(0.85)  # above, part of the tile may be burnt out and cannot follow the lamp
LEAST_TILES = 20
REGIONS = (3, 4)  # rows, columns: coarse enough to average, fine enough for one lamp of several
LEAST_IN_REGION = 6


@dataclass(frozen=True)
class Light:
    """Natural logarithms of ratios of linear light: `gain` of all, `rb` of red against blue;
    None where too few tiles can tell. `regions` (12,) is the gain of each region beyond the
    common one; nan where a region cannot tell."""

    gain: float | None
    rb: float | None
    regions: np.ndarray


def compare_light(before: Planes, after: Planes, quiet: np.ndarray) -> Light:
    """`quiet` is True for the tiles in which nothing moved, shape (rows, columns)."""
    luminance = [np.log(np.exp(p.light) @ LUMINANCE) for p in (before, after)]
    ratio = luminance[1] - luminance[0]
    usable = quiet & _exposed(luminance[0]) & _exposed(luminance[1])
    balance = (after.light - before.light)[..., 0] - (after.light - before.light)[..., 2]
    coloured = usable.copy()
    for planes in (before, after):
        coloured &= _exposed(planes.light[..., 0]) & _exposed(planes.light[..., 2])
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


def _exposed(log_light: np.ndarray) -> np.ndarray:
    return (log_light > DARKEST) & (log_light < BRIGHTEST)


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

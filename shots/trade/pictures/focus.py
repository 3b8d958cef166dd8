"""Focus of one picture against another: how much of the finest detail is left."""

import numpy as np

from .measure import CODE_GAIN, Planes
from .robust import quantile, settled_mean

ABOVE_NOISE = 1.0  # natural log of energy above the smoothest tiles, which show only noise


def compare_focus(
    before: Planes, after: Planes, quiet: np.ndarray, gain: float | None
) -> float | None:
    """Ratio of fine-detail amplitude, 1 when focus stayed; None where there is no detail.

    `gain` is the natural logarithm of the light's ratio: brighter light alone makes steeper codes.
    """
    floor = quantile(before.detail, 0.1)
    detailed = before.detail[quiet]
    if detailed.size == 0:
        return None
    most = max(quantile(detailed, 0.5), floor + ABOVE_NOISE)
    tiles = quiet & (before.detail >= most)
    change = settled_mean((after.detail - before.detail)[tiles])
    if change is None:
        return None
    return float(np.exp(change / 2 - CODE_GAIN * (gain or 0)))

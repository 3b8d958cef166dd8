"""Middles of a few hundred numbers, whatever lies far from the majority.

numpy's own median and percentile take most of their time in checks; these are called a hundred
times a picture.
"""

import numpy as np

LEAST_VALUES = 20
ROUNDS = 5  # of reweighting


def quantile(values: np.ndarray, share: float) -> float:
    """The value below which `share` of the values lie, 0 to 1, without interpolation."""
    at = int(share * (values.size - 1))
    return np.partition(values, at, axis=None)[at]


def settled_mean(values: np.ndarray) -> float | None:
    """Mean by Tukey's biweight, which ignores what lies far from the majority.

    None for fewer than 20 values.
    """
    if values.size < LEAST_VALUES:
        return None
    centre = quantile(values, 0.5)
    for _ in range(ROUNDS):
        weight = biweight(values - centre)
        centre = (weight * values).sum() / weight.sum()
    return float(centre)


def biweight(distance: np.ndarray) -> np.ndarray:
    """Tukey's weights: nought beyond six times the median distance."""
    spread = quantile(abs(distance), 0.5) * 6 + 1e-6
    return np.clip(1 - (distance / spread) ** 2, 0, None) ** 2


def spread(plane: np.ndarray) -> float:
    """Standard deviation about nought of the majority, from a quarter of the samples."""
    return float(1.4826 * quantile(abs(plane[::2, ::2]), 0.5))

"""Scores of a forecast against what happened; lower is better, units are those of the forecast.

Gneiting and Raftery 2007, "Strictly proper scoring rules, prediction, and estimation", JASA 102.
"""

import numpy as np


def crps(samples: np.ndarray, happened: float) -> float:
    """Continuous ranked probability score of an ensemble, in the 1/2m² form."""
    x = np.sort(np.asarray(samples, dtype=float))
    m = len(x)
    spread = np.sum((2 * np.arange(1, m + 1) - m - 1) * x) / m**2
    return float(np.mean(np.abs(x - happened)) - spread)


def pinball(level: float, quantile: float, happened: float) -> float:
    """What a quantile of a level costs: `level` a unit when short, 1 - `level` when over."""
    miss = happened - quantile
    return max(level * miss, (level - 1) * miss)


def interval_score(low: float, high: float, alpha: float, happened: float) -> float:
    """Width of a central 1 - alpha interval, and 2 / alpha for each unit that it missed by."""
    missed = max(low - happened, happened - high, 0.0)
    return (high - low) + 2 / alpha * missed

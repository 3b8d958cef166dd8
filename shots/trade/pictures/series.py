"""Where a series of readings, one a picture, leaves its own way.

Three things are told apart: a picture that stands out and is back in the next (*once*), a change
that stays (*stay*), and what goes on smoothly, which is an intended move or a drift and no fault of
any one picture.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

NOISES = 6.75  # times the median restlessness: 4.5 standard deviations of what is bell-shaped
LASTS = 0.7  # of a step must be left in the pictures that follow
NEAR = 3  # pictures on each side that tell the way it goes


@dataclass(frozen=True)
class Departure:
    index: int
    change: np.ndarray
    mode: str  # "once" or "stay"


def departures(
    values: np.ndarray,
    threshold: float,
    size: Callable[[np.ndarray], np.ndarray],
    noises: float = NOISES,
) -> tuple[list[Departure], np.ndarray]:
    """Departures of `values` (pictures, unknowns) of at least `threshold` by `size`, which maps
    (..., unknowns) to one number each, and of `noises` times the series' own restlessness; and
    the values with the departures taken out."""
    values = np.array(values, float)
    found = []
    if len(values) < 2:
        return found, values
    limit = max(threshold, noises * _restlessness(values, size))
    _take_single(values, limit, size, found)
    _take_steps(values, limit, size, found)
    return sorted(found, key=lambda d: d.index), values


def drift(values: np.ndarray, threshold: float) -> tuple[int, float] | None:
    """First picture at which a series (pictures,) has gone `threshold` from where it started, and
    how far it goes in all; None when it stays."""
    if len(values) < 2 * NEAR:
        return None
    smooth = np.array([np.median(values[max(i - 2, 0) : i + 3]) for i in range(len(values))])
    gone = smooth - np.median(values[:NEAR])
    if abs(gone).max() < threshold:
        return None
    first = int(np.argmax(abs(gone) >= threshold))
    return first, float(gone[np.argmax(abs(gone))])


def _restlessness(values: np.ndarray, size) -> float:
    """Usual size of a picture's departure from between its neighbours."""
    if len(values) < 6:
        return 0.0
    return float(np.median(size(_bulge(values))))


def _bulge(values: np.ndarray) -> np.ndarray:
    """How far each inner picture lies from the middle of its two neighbours."""
    return values[1:-1] - (values[:-2] + values[2:]) / 2


def _take_single(values, limit, size, found) -> None:
    """Largest first, so a neighbour of a departure is not taken for one."""
    for _ in range(len(values) - 2):
        bulge = _bulge(values)
        back = size(values[2:] - values[:-2]) < 0.5 * size(bulge)
        strength = np.where(back, size(bulge), 0)
        at = int(np.argmax(strength))
        if strength[at] < limit:
            return
        found.append(Departure(at + 1, bulge[at], "once"))
        values[at + 1] -= bulge[at]


def _take_steps(values, limit, size, found) -> None:
    for _ in range(len(values)):
        if size(np.diff(values, axis=0)).max() < limit:
            return
        jumps = _jumps(values, size)
        strength = np.minimum(size(jumps), size(_levels(values)) / LASTS)
        at = int(np.argmax(strength))
        if strength[at] < limit:
            return
        found.append(Departure(at + 1, jumps[at], "stay"))
        values[at + 1 :] -= jumps[at]


def _levels(values: np.ndarray) -> np.ndarray:
    """Change between the pictures before each step and those after it."""

    def level(start: int, end: int) -> np.ndarray:
        return np.median(values[max(start, 0) : end], axis=0)

    return np.array([level(n, n + NEAR) - level(n - NEAR, n) for n in range(1, len(values))])


def _jumps(values: np.ndarray, size) -> np.ndarray:
    """Each step less the steps before or after it, whichever explains more: the start, the end
    and the run of a smooth move are explained, a sudden step is not."""
    steps = np.diff(values, axis=0)
    jumps = steps.copy()
    for n, step in enumerate(steps):
        sides = [steps[max(n - NEAR, 0) : n], steps[n + 1 : n + 1 + NEAR]]
        left = [step - np.median(side, axis=0) for side in sides if len(side)]
        if left:
            jumps[n] = min(left, key=size)
    return jumps

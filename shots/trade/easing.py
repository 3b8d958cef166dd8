"""How far along a move is, given how much of its time has gone.

Animators disagree about the words: for some *ease in* is the gentle start, for others the gentle
arrival. Here, as in CSS, *ease in* starts gently and *ease out* ends gently; `WORDS` says it in
full, and pages print that.
"""

import numpy as np

CONTROL_POINTS = {
    # CSS Easing Functions Level 1, section 2.2: linear, ease-in, ease-out, ease-in-out
    "even": (0.0, 0.0, 1.0, 1.0),
    "in": (0.42, 0.0, 1.0, 1.0),
    "out": (0.0, 0.0, 0.58, 1.0),
    "both": (0.42, 0.0, 0.58, 1.0),
}

WORDS = {
    "even": "even from end to end",
    "in": "ease in: starts gently",
    "out": "ease out: ends gently",
    "both": "ease both ends: starts and ends gently",
}


def cubic_bezier(x1: float, y1: float, x2: float, y2: float, time) -> np.ndarray:
    """Progress of a cubic Bézier curve from (0, 0) to (1, 1) at each `time` in 0..1.

    `x1` and `x2` must lie in 0..1, so that time never runs backwards (CSS Easing Functions
    Level 1, section 2.2). Solved by halving the interval 50 times: exact to 1e-15.
    """
    if not (0 <= x1 <= 1 and 0 <= x2 <= 1):
        raise ValueError(
            f"The two time values of an easing curve must lie between 0 and 1, got {x1} and {x2}."
        )
    time = np.asarray(time, dtype=float)
    low, high = np.zeros_like(time), np.ones_like(time)
    for _ in range(50):
        middle = (low + high) / 2
        early = _coordinate(x1, x2, middle) < time
        low, high = np.where(early, middle, low), np.where(early, high, middle)
    return _coordinate(y1, y2, (low + high) / 2)


def ease(kind: str, time) -> np.ndarray:
    """Share of the travel done at each share of the `time`, for a kind in `CONTROL_POINTS`."""
    if kind not in CONTROL_POINTS:
        raise ValueError(f"An ease is one of {', '.join(CONTROL_POINTS)}; got {kind!r}.")
    return cubic_bezier(*CONTROL_POINTS[kind], time)


def _coordinate(first: float, second: float, s: np.ndarray) -> np.ndarray:
    return 3 * (1 - s) ** 2 * s * first + 3 * (1 - s) * s**2 * second + s**3

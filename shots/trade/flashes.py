"""Flashing, where a strip of pictures is played.

WCAG 2.2, "general flash and red flash thresholds": a general flash is a pair of opposing changes in
relative luminance of 10 % or more of the maximum (1.0), where the darker one is below 0.80. More
than three in any one second can bring on seizures (success criterion 2.3.1).
"""

from collections.abc import Sequence

LEAST_CHANGE = 0.10
DARKER_BELOW = 0.80
MOST_IN_A_SECOND = 3


def flashes(luminances: Sequence[float], seconds: Sequence[float]) -> int:
    """The most flashes in any one second of play.

    `luminances` are the pictures' mean relative luminances, `seconds` how long each stays on
    screen. The mean of the whole frame is judged: a small lamp that blinks is not seen here.
    """
    turns = _turns(luminances, seconds)
    most = first = 0
    for last, moment in enumerate(turns):
        while moment - turns[first] > 1:
            first += 1
        most = max(most, last - first + 1)
    return most // 2


def is_flashing(luminances: Sequence[float], seconds: Sequence[float]) -> bool:
    """Whether playing these pictures flashes more than three times in any one second."""
    return flashes(luminances, seconds) > MOST_IN_A_SECOND


def _turns(luminances: Sequence[float], seconds: Sequence[float]) -> list[float]:
    """When each large change begins that goes against the large change before it."""
    moments: list[float] = []
    rising: bool | None = None
    extreme = luminances[0] if luminances else 0.0
    now = 0.0
    for light, length in zip(luminances, seconds, strict=True):
        change = light - extreme
        if abs(change) >= LEAST_CHANGE and min(light, extreme) < DARKER_BELOW:
            if rising is None or rising != (change > 0):
                moments.append(now)
            rising, extreme = change > 0, light
        elif rising is not None and rising == (change > 0):
            extreme = light  # it goes on the same way
        now += length
    return moments

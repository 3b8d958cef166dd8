"""Which frames show a new picture and which repeat the one before.

Hard compression makes a repeat differ nearly as much as a picture in which little moved: an
encoder spends little on either, and may even guess a movement halfway. No frame can then be judged
by itself. So the film is read as a whole: as the row of holds that agrees best with every
difference, where pictures held evenly are likelier than a slip (a shortest path through the frames,
Viterbi 1967). The line between noise and motion is drawn where two kinds of difference part.

The weights are common practice, no source; ``python -m tests.compressed`` measures what they do.
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from clients.trade.checks.cells import SURELY_UNCHANGED

SURELY_NEW = 30.0
"""Levels. A change above this is hardly ever coding noise."""
MOTION_SHARE = 0.45
LEAST_REPEATS = 8
NOISE_MARGIN = 1.5
NEIGHBOURS = 6
"""Frames to either side whose motion a change is compared with."""

OFFSET = 0.25
"""Levels added before taking logarithms: smaller changes are all alike."""
LARGEST = 60.0
"""Levels. A cut says no more than a great motion."""
NEAR, FAR, WIDE = 8, 24, 48
"""Frames to either side: for the line, for telling the two kinds apart, for the noise."""
STEP = 0.7
"""Logarithms: twice as much."""
CLEARLY = 5.0
"""Standard errors between the two kinds before the line is drawn by them."""
ABOVE_USUAL = 0.3
"""Logarithms: a third more."""
WEIGHT, MOST = 4.0, 6.0
"""Evidence for each unit of logarithm, and the most that one frame can give."""
SLIP, LONG_HOLD = 6.0, 2.0
"""Evidence needed for an uneven hold, and for one longer than usual."""
USUAL_EXPOSURES = (1, 2, 3, 4)
READINGS = 3
SECTION, OVERLAP = 20_000, 500
"""Frames read at once, so that a long film needs no more memory, and read on either side."""


def new_pictures(changes: np.ndarray, exposure: int) -> np.ndarray:
    """Which frames show a new picture (bool, the first always does).

    ``changes`` is by how many levels each frame differs from the one before, ``exposure`` the
    number of frames that pictures are meant to stay.
    """
    new = np.zeros(changes.size, bool)
    for first in range(0, changes.size, SECTION):
        begin = max(first - OVERLAP, 0)
        read = _read(changes[begin : first + SECTION + OVERLAP], exposure)
        new[first : first + SECTION] = read[first - begin :][:SECTION]
    return new


def _read(changes: np.ndarray, exposure: int) -> np.ndarray:
    """The new pictures of one section, whose first frame counts as new."""
    size = np.log(np.minimum(changes, LARGEST) + OFFSET)
    line = np.log(plain_line(changes) + OFFSET)
    if exposure > 1:
        _draw_by_turns(line, size, exposure)
    noise = np.full(changes.size, -np.inf)
    paths = _Paths.through(exposure)
    for _ in range(READINGS):
        evidence = np.clip(WEIGHT * (size - line), -MOST, MOST)
        # What is no louder than a plain repeat nearby is no evidence of a new picture.
        evidence[size < noise] = np.minimum(evidence[size < noise], 0)
        new = paths.likeliest(evidence)
        middle, parted = _between(size, new)
        line = np.where(parted > CLEARLY, middle, line)
        noise = _loudest_repeat(size, ~new & (parted > CLEARLY))
    return new


def plainly_new(changes: np.ndarray) -> np.ndarray:
    """Which frames show a new picture, each judged by itself (bool, the first always does)."""
    new = changes > plain_line(changes)
    new[:1] = True
    return new


def plain_line(changes: np.ndarray) -> np.ndarray:
    """The line between coding noise and motion for each frame, in levels.

    A little under half of how much the picture moves nearby: the third largest change among the
    NEIGHBOURS frames on either side, so that two cuts do not hide the motion between them. Inside a
    hold nothing moves nearby; there the line lies over the coding noise seen where something does.
    """
    nearby = _rolling(changes, NEIGHBOURS, 3, 0)
    return np.clip(nearby * MOTION_SHARE, _coding_noise(changes, nearby), SURELY_NEW)


def _coding_noise(changes: np.ndarray, nearby: np.ndarray) -> float:
    """Levels by which this file's encoder may change a picture that stands still.

    Read off the frames that change much less than their neighbours do: in a film with repeated
    pictures these are the repeats.
    """
    usual = float(np.median(nearby)) if nearby.size else 0.0
    repeats = changes[(changes < nearby * MOTION_SHARE) & (nearby > usual / 2)]
    if repeats.size < LEAST_REPEATS or usual <= 0:
        return SURELY_UNCHANGED
    noise = NOISE_MARGIN * float(np.percentile(repeats, 95))
    return float(
        np.clip(noise, SURELY_UNCHANGED, min(SURELY_NEW, max(usual / 3, SURELY_UNCHANGED)))
    )


def _draw_by_turns(line: np.ndarray, size: np.ndarray, exposure: int) -> None:
    """Where every so manieth frame clearly differs more than the others, draw the line by that."""
    turns = np.arange(size.size) % exposure
    clearest = np.full(size.size, CLEARLY)
    for turn in range(exposure):
        middle, parted = _between(size, turns == turn)
        clearer = parted > clearest
        line[clearer], clearest[clearer] = middle[clearer], parted[clearer]


def _between(size: np.ndarray, new: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Halfway between new and repeated pictures near each frame, and how clearly the two part:
    their distance in standard errors, after Student's t."""
    near_new, near_repeat = _Near(size, new, NEAR), _Near(size, ~new, NEAR)
    both = (near_new.count > 0) & (near_repeat.count > 0)
    middle = np.where(both, (near_new.mean + near_repeat.mean) / 2, size)
    # Rid of slow swells of the motion, and of the steps where a hold begins and ends.
    level = np.clip(size - middle, -STEP, STEP)
    wide_new, wide_repeat = _Near(level, new, FAR), _Near(level, ~new, FAR)
    frames = np.maximum(wide_new.count + wide_repeat.count - 2, 1)
    variance = np.maximum((wide_new.scatter + wide_repeat.scatter) / frames, 0.01)
    few = 1 / np.maximum(wide_new.count, 1) + 1 / np.maximum(wide_repeat.count, 1)
    parted = (wide_new.mean - wide_repeat.mean) / np.sqrt(variance * few)
    parted[(wide_new.count < 4) | (wide_repeat.count < 4)] = -np.inf
    return middle, parted


class _Near:
    """Count, mean and sum of squared deviations of the chosen values around each frame."""

    def __init__(self, values: np.ndarray, chosen: np.ndarray, reach: int):
        self.count = _sums(chosen.astype(float), reach)
        self.mean = _sums(values * chosen, reach) / np.maximum(self.count, 1)
        squares = _sums(values * values * chosen, reach)
        self.scatter = np.maximum(squares - self.count * self.mean**2, 0)


def _sums(values: np.ndarray, reach: int) -> np.ndarray:
    """The sum of the values from ``reach`` frames before each frame to ``reach`` after it."""
    totals = np.concatenate(([0.0], np.cumsum(values)))
    frames = np.arange(values.size)
    after = np.minimum(frames + reach + 1, values.size)
    return totals[after] - totals[np.maximum(frames - reach, 0)]


def _loudest_repeat(size: np.ndarray, repeats: np.ndarray) -> np.ndarray:
    """The third largest change among the plain repeats around each frame, and nowhere less than a
    little over what is usual among all of them."""
    if np.count_nonzero(repeats) < LEAST_REPEATS:
        return np.full(size.size, -np.inf)
    nearby = _rolling(np.where(repeats, size, -np.inf), WIDE, 3, -np.inf)
    return np.maximum(nearby, np.median(size[repeats]) + ABOVE_USUAL)


def _rolling(values: np.ndarray, reach: int, place: int, outside: float) -> np.ndarray:
    """The ``place``-th largest value within ``reach`` frames of each frame."""
    found = np.empty(values.size)
    windows = sliding_window_view(np.pad(values, reach, constant_values=outside), 2 * reach + 1)
    for start in range(0, values.size, 10_000):  # in pieces, so a long film needs no more memory
        part = windows[start : start + 10_000]
        found[start : start + 10_000] = np.partition(part, -place, axis=1)[:, -place]
    return found


@dataclass(frozen=True)
class _Paths:
    """The ways through a film. A state is an exposure, the frames a picture has been up, counted
    around that exposure, and whether it has been up longer than that. ``repeat`` and ``new`` are
    the costs from state to state (infinite: no such way), ``start`` those of the first frame."""

    repeat: np.ndarray
    new: np.ndarray
    start: np.ndarray

    @classmethod
    def through(cls, exposure: int) -> "_Paths":
        exposures = sorted({*USUAL_EXPOSURES, exposure})
        states = [(e, up, long) for e in exposures for up in range(e) for long in (False, True)]
        number = {state: index for index, state in enumerate(states)}
        repeat, new = np.full((2, len(states), len(states)), np.inf)
        start = np.full(len(states), np.inf)
        for (shot_on, up, long), here in number.items():
            whole = up == shot_on - 1
            if whole:
                repeat[here, number[shot_on, 0, True]] = 0 if long else LONG_HOLD
            else:
                repeat[here, number[shot_on, up + 1, long]] = 0
            for other in exposures:
                slips = (not whole) + (other != shot_on)
                new[here, number[other, 0, False]] = SLIP * slips
        for other in exposures:
            start[number[other, 0, False]] = 0 if other == exposure else SLIP
        return cls(repeat, new, start)

    def likeliest(self, evidence: np.ndarray) -> np.ndarray:
        """Which frames are new on the cheapest way, when ``evidence`` (positive for new, negative
        for repeated) is taken off for heeding it and added for going against it."""
        states = np.arange(self.start.size)
        came_from = np.zeros((evidence.size, states.size), np.int8)
        is_new = np.zeros((evidence.size, states.size), bool)
        cost = self.start
        for frame in range(1, evidence.size):
            repeated, renewed = cost[:, None] + self.repeat, cost[:, None] + self.new
            by_repeat, by_new = repeated.argmin(axis=0), renewed.argmin(axis=0)
            repeat_cost = repeated[by_repeat, states] + evidence[frame]
            new_cost = renewed[by_new, states] - evidence[frame]
            is_new[frame] = new_cost < repeat_cost
            came_from[frame] = np.where(is_new[frame], by_new, by_repeat)
            cost = np.minimum(repeat_cost, new_cost)
        return self._back(came_from, is_new, int(cost.argmin()))

    @staticmethod
    def _back(came_from: np.ndarray, is_new: np.ndarray, state: int) -> np.ndarray:
        new = np.zeros(len(is_new), bool)
        for frame in range(len(is_new) - 1, 0, -1):
            new[frame] = is_new[frame, state]
            state = came_from[frame, state]
        new[0] = True
        return new

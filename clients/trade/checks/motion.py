"""Black, frozen stretches and the repeat pattern, from one number per frame.

A stop-motion picture held for two frames is the same photograph twice, so the second frame
differs from the first only by what the encoder made of it. Which frames show a new picture is
read from that; everything else here is counting.
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from clients.trade.checks.cells import SURELY_UNCHANGED
from clients.trade.specification import Black

SURELY_NEW = 8.0
"""Levels. A change above this is never coding noise."""
MOTION_SHARE = 0.45
LEAST_REPEATS = 8
NOISE_MARGIN = 1.5
NEIGHBOURS = 6
LONGEST_PATTERN = 25
"""Pictures. 24 into 25 frames repeats one picture in 24."""
MOST_NAMED = 10


@dataclass(frozen=True)
class Stretch:
    """Frames ``first`` to ``last``, both included."""

    first: int
    last: int

    @property
    def frames(self) -> int:
        return self.last - self.first + 1

    def __str__(self) -> str:
        if self.first == self.last:
            return f"frame {self.first}"
        return f"frames {self.first}–{self.last}"


def stretches(flags: np.ndarray) -> list[Stretch]:
    """The runs of True in ``flags`` (bool)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    return [Stretch(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def new_pictures(changes: np.ndarray) -> np.ndarray:
    """Which frames show a new picture (bool, the first always does).

    The line between coding noise and motion lies a little under half of how much the picture moves
    nearby: the third largest change among the NEIGHBOURS frames on either side, so that two
    cuts do not hide the motion between them. Inside a hold nothing moves nearby; there the line
    lies over the coding noise seen where something does.
    """
    if changes.size == 0:
        return np.zeros(0, dtype=bool)
    nearby = np.empty(changes.size, dtype=np.float32)
    windows = sliding_window_view(np.pad(changes, NEIGHBOURS), 2 * NEIGHBOURS + 1)
    for start in range(0, changes.size, 10_000):  # in pieces, so a long film needs no more memory
        part = windows[start : start + 10_000]
        nearby[start : start + 10_000] = np.partition(part, -3, axis=1)[:, -3]
    new = changes > np.clip(nearby * MOTION_SHARE, coding_noise(changes, nearby), SURELY_NEW)
    new[0] = True
    return new


def coding_noise(changes: np.ndarray, nearby: np.ndarray) -> float:
    """Levels by which this file's encoder may change a picture that stands still.

    Read off the frames that change much less than their neighbours do: in a film with repeated
    pictures these are the repeats.
    """
    usual = float(np.median(nearby))
    repeats = changes[(changes < nearby * MOTION_SHARE) & (nearby > usual / 2)]
    if repeats.size < LEAST_REPEATS or usual <= 0:
        return SURELY_UNCHANGED
    noise = NOISE_MARGIN * float(np.percentile(repeats, 95))
    return float(
        np.clip(noise, SURELY_UNCHANGED, min(SURELY_NEW, max(usual / 3, SURELY_UNCHANGED)))
    )


def black_parts(black: np.ndarray) -> tuple[int, list[Stretch], int]:
    """Black frames at the head, the black stretches inside, black frames at the tail."""
    runs = stretches(black)
    if runs and runs[0].frames == black.size:
        return black.size, [], 0
    head = tail = 0
    if runs and runs[0].first == 0:
        head = runs.pop(0).frames
    if runs and runs[-1].last == black.size - 1:
        tail = runs.pop().frames
    return head, runs, tail


def black_too_long(parts: tuple[int, list[Stretch], int], wanted: Black) -> list[str]:
    """Each black part longer than wanted, in words."""
    head, inside, tail = parts
    faults = []
    if head > wanted.head:
        faults.append(f"{head} at the head")
    faults += [str(run) for run in inside if run.frames > wanted.inside]
    if tail > wanted.tail:
        faults.append(f"{tail} at the tail")
    return faults


def frozen(changes: np.ndarray, black: np.ndarray | None, longest: int) -> list[Stretch]:
    """Stretches of one unchanging picture longer than ``longest`` frames, black ones apart."""
    starts = np.flatnonzero(new_pictures(changes))
    ends = np.append(starts[1:], changes.size) - 1
    return [
        Stretch(int(first), int(last))
        for first, last in zip(starts, ends, strict=True)
        if last - first + 1 > longest and (black is None or not black[first])
    ]


@dataclass(frozen=True)
class Cadence:
    """How often the pictures repeat. ``pattern`` is the frames each picture stays, in turn:
    (2,) for twos, (3, 2) for twelve a second into thirty; empty when there is none."""

    pattern: tuple[int, ...]
    breaks: tuple[Stretch, ...]
    """pictures held for a number of frames that the wanted exposure does not divide"""

    def __str__(self) -> str:
        if not self.pattern:
            return "no regular pattern"
        if len(self.pattern) == 1:
            times = {1: "once", 2: "twice"}.get(self.pattern[0], f"{self.pattern[0]} times")
            return f"every picture {times}"
        return "pictures held " + ", ".join(str(hold) for hold in self.pattern) + " frames in turn"


def cadence(changes: np.ndarray, exposure: int) -> Cadence:
    """The repeat pattern in the pictures, and where it breaks an exposure of ``exposure``.

    A hold of any multiple of the exposure is no break. The last picture may be cut short by
    the end of the film: how many frames there are is another check's matter.
    """
    starts = np.flatnonzero(new_pictures(changes))
    holds = np.diff(np.append(starts, changes.size))
    broken = holds % exposure != 0
    if holds.size and holds[-1] < exposure:
        broken[-1] = False
    breaks = tuple(
        Stretch(int(starts[i]), int(starts[i] + holds[i] - 1)) for i in np.flatnonzero(broken)
    )
    return Cadence(pattern(holds), breaks)


def pattern(holds: np.ndarray) -> tuple[int, ...]:
    """The shortest run of hold lengths that the film repeats, empty when nothing does.

    Long holds are shot on purpose and left out. A pattern must foretell 85 % of the hold
    lengths, and a longer one must foretell clearly more than a shorter one.
    """
    if holds.size < 2:
        return ()
    inner = holds[:-1]
    ordinary = inner[inner <= 2 * np.median(inner) + 1]
    best, best_score = (), 0.85
    for length in range(1, min(LONGEST_PATTERN, max(1, ordinary.size // 2)) + 1):
        columns = [ordinary[turn::length] for turn in range(length)]
        usual = [int(np.bincount(column).argmax()) for column in columns]
        hits = sum(int((c == u).sum()) for c, u in zip(columns, usual, strict=True))
        score = hits / ordinary.size
        if score > best_score + 0.02 * bool(best):
            best, best_score = tuple(usual), score
    return best

"""Black, frozen stretches and the repeat pattern, from one number or two per frame.

A stop-motion picture held for two frames is the same photograph twice, so the second frame
differs from the first only by what the encoder made of it. Which frames show a new picture is
read in ``holds``; everything else here is counting.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from clients.trade.checks.holds import new_pictures, plainly_new
from clients.trade.specification import Black

REACH = 12
"""Frames. Over half a second even a faint movement adds up, and coding noise does not."""
BLINK = 16.0
"""Levels. A frame that differs more from the one before ends what stands still."""
LEAST_STILL, MOST_STILL = 2.0, 12.0
"""Levels. Between these lies the line for standing still: three times the loudest change nearby."""
FAINT = 12.0
"""Levels. Compression alone may make such changes."""
THIN = 0.02
"""Bits for each pixel, 1 Mbit/s in HD. With less, encoders guess movements between frames."""
MANY_BREAKS = 0.1
"""Share of the pictures."""
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


def frozen(
    changes: np.ndarray, moved: np.ndarray, black: np.ndarray | None, longest: int
) -> list[Stretch]:
    """Stretches of one unchanging picture longer than ``longest`` frames, black ones apart.

    ``moved`` is by how many levels each frame differs from the one REACH frames before it.
    Stretches no longer than that are read from ``changes`` alone.
    """
    found = _standing(changes, moved)
    starts = np.flatnonzero(plainly_new(changes))
    ends = np.append(starts[1:], changes.size)[: starts.size] - 1
    found += [
        Stretch(int(first), int(last))
        for first, last in zip(starts, ends, strict=True)
        if last - first + 1 <= REACH
    ]
    return [
        run
        for run in sorted(found, key=lambda run: run.first)
        if run.frames > longest and (black is None or not black[run.first])
    ]


def _standing(changes: np.ndarray, moved: np.ndarray) -> list[Stretch]:
    """Stretches longer than REACH in which nothing moved."""
    if changes.size <= REACH:
        return []
    # The loudest change on the way from the frame compared with.
    loudest = sliding_window_view(changes, REACH).max(axis=1)[1:]
    line = np.clip(3 * loudest, LEAST_STILL, MOST_STILL)
    still = (loudest <= BLINK) & (moved[REACH:] <= line)
    return [Stretch(run.first, run.last + REACH) for run in stretches(still)]


@dataclass(frozen=True)
class Cadence:
    """How often the pictures repeat. ``pattern`` is the frames each picture stays, in turn:
    (2,) for twos, (3, 2) for twelve a second into thirty; empty when there is none."""

    pattern: tuple[int, ...]
    breaks: tuple[Stretch, ...]
    """pictures held for a number of frames that the wanted exposure does not divide"""
    is_uncertain: bool = False
    """most of it reads as ones, in a film in which compression alone may look so"""

    def __str__(self) -> str:
        if not self.pattern:
            return "no regular pattern"
        if len(self.pattern) == 1:
            times = {1: "once", 2: "twice"}.get(self.pattern[0], f"{self.pattern[0]} times")
            return f"every picture {times}"
        return "pictures held " + ", ".join(str(hold) for hold in self.pattern) + " frames in turn"


def cadence(changes: np.ndarray, exposure: int, bits_per_pixel: float = math.inf) -> Cadence:
    """The repeat pattern in the pictures, and where it breaks an exposure of ``exposure``.

    A hold of any multiple of the exposure is no break. The last picture may be cut short by
    the end of the film: how many frames there are is another check's matter. ``bits_per_pixel`` is
    what the file spends on each pixel of each frame.
    """
    starts = np.flatnonzero(new_pictures(changes, exposure))
    holds = np.diff(np.append(starts, changes.size))
    broken = holds % exposure != 0
    if holds.size and holds[-1] < exposure:
        broken[-1] = False
    breaks = tuple(
        Stretch(int(starts[i]), int(starts[i] + holds[i] - 1)) for i in np.flatnonzero(broken)
    )
    as_ones = sum(run.frames == 1 for run in breaks)
    doubtful = bits_per_pixel < THIN or np.median(changes[starts]) < FAINT
    many = as_ones > max(MANY_BREAKS * starts.size, len(breaks) / 2)
    return Cadence(pattern(holds), breaks, bool(many and doubtful))


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

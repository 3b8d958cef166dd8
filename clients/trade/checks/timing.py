"""Frame rate and its constancy, from the time stamps of the decoded frames alone."""

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

# ITU-R BT.709-6 and BT.2020-2 picture rates, and the low ones of animation.
STANDARD_RATES = tuple(
    Fraction(rate)
    for rate in (
        "24", "25", "30", "24000/1001", "30000/1001", "50", "60", "60000/1001", "48", "12",
        "15", "12.5", "10", "8", "6", "100", "120", "120000/1001",
    )
)  # fmt: skip

MOST_INTERVALS = 1000
"""Distinct intervals remembered; a file with more is irregular whatever the rest says."""


@dataclass(frozen=True)
class Timing:
    """How the frames follow each other. Frames are counted from 0."""

    frames: int
    rate: Fraction | None
    """frames per second; None when time stamps are missing or there is one frame"""
    duration: Fraction
    """seconds from the first frame's start to the last one's end"""
    constant: bool
    first_odd_frame: int | None
    """the first frame whose stamp is not one usual interval after the one before"""


class Clock:
    """Takes each frame's time stamp in turn and remembers only how they differ."""

    def __init__(self, tick: Fraction, stated_rate: Fraction | None):
        """``tick`` is the stamps' unit in seconds; ``stated_rate`` the file's own claim, used
        to name the rate exactly when the stamps are too coarse to."""
        self.tick = tick
        self.stated_rate = stated_rate
        self.frames = 0
        self.first = self.last = None
        self.intervals: Counter[int] = Counter()
        self.first_seen: dict[int, int] = {}
        self.unstamped = False

    def add(self, stamp: int | None) -> None:
        """``stamp`` in ticks, or None when the file gives none."""
        if stamp is None:
            self.unstamped = True
        elif self.last is None:
            self.first = self.last = stamp
        else:
            interval = stamp - self.last
            if interval in self.intervals or len(self.intervals) < MOST_INTERVALS:
                self.intervals[interval] += 1
                self.first_seen.setdefault(interval, self.frames)
            self.last = stamp
        self.frames += 1

    def timing(self) -> Timing:
        if self.unstamped or not self.intervals:
            rate = self.stated_rate
            duration = self.frames / rate if rate else Fraction(0)
            return Timing(self.frames, rate, duration, True, None)
        usual = self.intervals.most_common(1)[0][0]
        # Stamps in coarse units (1 ms) round each interval up or down by up to one unit.
        odd = [i for i in self.intervals if abs(i - usual) > 1 or (usual <= 2 and i != usual)]
        rate = self._rate(usual)
        length = (self.last - self.first) * self.tick
        duration = length + (1 / rate if rate else max(usual, 0) * self.tick)
        if not odd and rate:
            duration = self.frames / rate
        return Timing(
            frames=self.frames,
            rate=rate,
            duration=duration,
            constant=not odd,
            first_odd_frame=min((self.first_seen[i] for i in odd), default=None),
        )

    def _rate(self, usual: int) -> Fraction | None:
        span = self.last - self.first
        if span <= 0 or usual <= 0:
            return None
        if len(self.intervals) == 1 and Fraction(1, 1) / (usual * self.tick) in STANDARD_RATES:
            return 1 / (usual * self.tick)
        mean = Fraction(span, self.frames - 1) * self.tick
        slack = self.tick / (self.frames - 1)
        for rate in (self.stated_rate, *STANDARD_RATES):
            if rate and abs(1 / rate - mean) <= slack:
                return rate
        return (1 / mean).limit_denominator(1001)

"""Light, shift and sharpness of a shot as ruled strips over the picture numbers.

Across, a strip is drawn in a box 1000 wide with a place for each picture; down, in a box 100 high.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 1000, 100
TICKS = 8


@dataclass(frozen=True)
class Reading:
    """One picture in a strip: its number from 1, what was measured, the flag on it in words, and a
    `key` by which a page finds it."""

    number: int
    value: float | None
    flag: str = ""
    key: int = 0


@dataclass(frozen=True)
class Mark:
    """A flag on a strip."""

    number: int
    x: float
    y: float
    words: str
    key: int


@dataclass(frozen=True)
class Tick:
    """A picture number under a strip."""

    number: int
    x: float


@dataclass(frozen=True)
class MeasureStrip:
    """One strip, ready to draw. `lines` are runs of points; where nothing was measured is a gap."""

    name: str
    lines: tuple[tuple[tuple[float, float], ...], ...]
    marks: tuple[Mark, ...]
    ticks: tuple[Tick, ...]
    highest: str
    lowest: str
    middle: float

    @property
    def points(self) -> list[str]:
        """Each line as SVG writes it. Put together here: a template takes ten times as long."""
        return [" ".join(f"{x:.1f},{y:.1f}" for x, y in line) for line in self.lines]

    @property
    def sentence(self) -> str:
        """What the strip shows, in words."""
        said = f"{self.name}: from {self.lowest} to {self.highest}"
        if not self.marks:
            return f"{said}, no flags."
        return f"{said}, {len(self.marks)} flag{'s' if len(self.marks) > 1 else ''}."


def measure_strip(
    name: str, readings: Sequence[Reading], usual: float, least: float, unit: str
) -> MeasureStrip:
    """A strip whose middle rule is the `usual` value and which reaches at least `least` to both
    sides. `unit` is "%" for shares of 1, or "px"."""
    distances = [abs(reading.value - usual) for reading in readings if reading.value is not None]
    reach = _reach(distances, least)

    def down(value: float) -> float:
        beyond = min(max((value - usual) / reach, -1), 1)
        return HEIGHT / 2 - beyond * HEIGHT / 2

    def across(number: int) -> float:
        return (number - 0.5) / max(len(readings), 1) * WIDTH

    lines: list[list[tuple[float, float]]] = [[]]
    for reading in readings:
        if reading.value is None:
            lines.append([])
        else:
            lines[-1].append((across(reading.number), down(reading.value)))
    return MeasureStrip(
        name=name,
        lines=tuple(tuple(line) for line in lines if line),
        marks=tuple(
            Mark(
                reading.number,
                across(reading.number),
                HEIGHT / 2 if reading.value is None else down(reading.value),
                reading.flag,
                reading.key,
            )
            for reading in readings
            if reading.flag
        ),
        ticks=tuple(Tick(number, across(number)) for number in tick_numbers(len(readings))),
        highest=_label(reach, unit),
        lowest=_label(-reach, unit),
        middle=HEIGHT / 2,
    )


def _reach(distances: Sequence[float], least: float) -> float:
    """To the farthest reading; but one black picture must not flatten all the others, so no more
    than ten times `least` or what one reading in ten exceeds. The rest is drawn at the edge."""
    if not distances:
        return least
    usual = sorted(distances)[int(0.9 * (len(distances) - 1))]
    return max(least, min(max(distances), max(10 * least, usual)))


def _label(value: float, unit: str) -> str:
    if unit == "%":
        return f"{value * 100:+.1f} %".replace("-", "−")
    return f"{value:+.2f} {unit}".replace("-", "−")


def tick_numbers(count: int) -> list[int]:
    """Picture numbers to write under a strip: 1, then round ones, about eight."""
    if count < 1:
        return []
    rough = max(count / TICKS, 1)
    power = 10 ** math.floor(math.log10(rough))
    step = next(power * n for n in (1, 2, 5, 10) if power * n >= rough)
    return [1, *range(step if step > 1 else 2, count + 1, step)]

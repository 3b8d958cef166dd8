"""Geometry of the film strip: the whole film as one ruled bar in time.

One unit of x is one frame, counted from the start of the film; whoever draws it sets the scale.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, count
from math import ceil

from studio.trade.timecode import label_rate, seconds_and_frames

MOST_TICKS = 12
_STEPS_IN_SECONDS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800)
_DONE = ("shot", "approved")


class StripError(ValueError):
    """A shot that cannot be drawn; the message names it and says why."""


@dataclass(frozen=True)
class StripShot:
    """A shot to draw: screen frames, pictures kept and budgeted, and its status in words."""

    label: str
    frames: int
    kept: int
    budget: int
    status: str


@dataclass(frozen=True)
class Segment:
    """A shot on the strip, in frames; `filled_width` is the part of it that is shot."""

    label: str
    x: int
    width: int
    filled_width: float
    status: str
    title: str


@dataclass(frozen=True)
class Tick:
    """A mark on the ruler: its frame, and minutes and seconds such as "1:30"."""

    x: int
    label: str


@dataclass(frozen=True)
class Strip:
    """The film strip, in frames.

    `span_frames` is the width to draw: the film or the contract, whichever is longer, and never 0.
    `over_frames` is the film less the contract: negative when short, None without a contract.
    """

    total_frames: int
    contracted_frames: int | None
    span_frames: int
    over_frames: int | None
    segments: tuple[Segment, ...]
    ticks: tuple[Tick, ...]
    sentence: str


def strip(shots: Sequence[StripShot], rate: Fraction, contracted_frames: int | None) -> Strip:
    """Lay the shots end to end in film order, leaving out those with status "cut".

    Raises StripError for a negative count, RateError for a rate of 0 or less.
    """
    segments = []
    x = 0
    for shot in shots:
        if min(shot.frames, shot.kept, shot.budget) < 0:
            raise StripError(f"Shot {shot.label} has a negative count; frames start at 0.")
        if shot.status == "cut":
            continue
        segments.append(_segment(shot, x, rate))
        x += shot.frames
    span = max(x, contracted_frames or 0, 1)
    return Strip(
        total_frames=x,
        contracted_frames=contracted_frames,
        span_frames=span,
        over_frames=None if contracted_frames is None else x - contracted_frames,
        segments=tuple(segments),
        ticks=_ticks(span, rate),
        sentence=_sentence(x, contracted_frames, rate),
    )


def _segment(shot: StripShot, x: int, rate: Fraction) -> Segment:
    return Segment(
        label=shot.label,
        x=x,
        width=shot.frames,
        filled_width=shot.frames * _share_shot(shot),
        status=shot.status,
        title=(
            f"{shot.label}, {seconds_and_frames(shot.frames, rate)}, {shot.status}: "
            f"{shot.kept} of {shot.budget} pictures"
        ),
    )


def _share_shot(shot: StripShot) -> float:
    if shot.status in _DONE:
        return 1.0
    if shot.budget == 0:
        return 0.0
    return min(1.0, shot.kept / shot.budget)


def _ticks(span_frames: int, rate: Fraction) -> tuple[Tick, ...]:
    base = label_rate(rate)
    seconds = int(span_frames / base)
    steps = chain(_STEPS_IN_SECONDS, count(3600, 3600))
    step = next(step for step in steps if seconds // step < MOST_TICKS)
    return tuple(
        Tick(x=ceil(second * base), label=_clock(second)) for second in range(0, seconds + 1, step)
    )


def _clock(seconds: int) -> str:
    if seconds >= 3600:
        return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return f"{seconds // 60}:{seconds % 60:02d}"


def _sentence(total: int, contracted: int | None, rate: Fraction) -> str:
    length = f"The film is {seconds_and_frames(total, rate)}"
    if contracted is None:
        return f"{length}."
    contract = f"the contracted {seconds_and_frames(contracted, rate)}"
    if total == contracted:
        return f"{length}, exactly {contract}."
    side = "over" if total > contracted else "under"
    return f"{length}, {seconds_and_frames(abs(total - contracted), rate)} {side} {contract}."

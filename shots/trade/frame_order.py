"""The pictures of a shot in the order they are shown: holds, and pictures that are shown again."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Again:
    """Pictures `first` to `last` by number, `times` over; backwards where `last` comes first."""

    first: int
    last: int
    times: int


@dataclass(frozen=True)
class Shown:
    """A picture by its number in the shot, for how many frames, and what follows it once more."""

    number: int
    frames: int
    again: Again | None = None


@dataclass(frozen=True)
class Place:
    """A picture in the order of frames, from frame `x` on; `is_again` where it was shown before."""

    number: int
    x: int
    frames: int
    is_again: bool = False


def frame_order(shown: Sequence[Shown]) -> list[Place]:
    """Every place in order. What is shown again does not bring along what follows it again."""
    places: list[Place] = []
    at = 0
    for one in shown:
        following = repeated(shown, one.again) if one.again else []
        for picture, is_again in [(one, False), *((other, True) for other in following)]:
            places.append(Place(picture.number, at, picture.frames, is_again))
            at += picture.frames
    return places


def repeated(shown: Sequence[Shown], again: Again) -> list[Shown]:
    """The pictures that are shown again; those that are not in the film any more are left out."""
    lowest, highest = sorted((again.first, again.last))
    once = [one for one in shown if lowest <= one.number <= highest]
    return (once if again.first <= again.last else once[::-1]) * again.times

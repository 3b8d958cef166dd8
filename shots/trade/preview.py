"""A preview of the film as it stands: what is on screen, how long, and what is written there."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import cycle

from shots.trade.frame_order import Again, Place, Shown, frame_order
from studio.trade.timecode import timecode

DROP_FRAME_RATE = Fraction(30000, 1001)
"""Where timecode would else fall behind the clock (SMPTE ST 12-1)."""
TO_COME = "to come"
NOT_HERE = "shot, pictures not here"
"""of a shot that is done, but whose pictures were not brought in"""


@dataclass(frozen=True)
class KeptPicture:
    """A picture that is in the film. ``number`` counts the discarded ones too; ``frames`` is how
    long it is held, None for the exposure; ``again`` are the pictures shown again after it."""

    key: int
    number: int
    frames: int | None = None
    is_small: bool = False
    """only the thumbnail was kept of it"""
    again: Again | None = None


@dataclass(frozen=True)
class ShotSoFar:
    """A shot with its pictures, in the order they are shown."""

    code: str
    description: str
    exposure: int
    frames: int
    """its length with handles"""
    reused_frames: int = 0
    """of these, shown by pictures that are in the shot already"""
    pictures: tuple[KeptPicture, ...] = ()
    is_done: bool = False


@dataclass(frozen=True)
class Stretch:
    """One picture, or a grey card where ``picture`` is None, for ``frames`` frames."""

    shot: str
    description: str
    picture: int | None
    frames: int
    first_frame: int
    """its number in the shot, from 1"""
    note: str
    """what it is: “picture 3”, “picture 3, reused”, “to come”, “shot, pictures not here”"""


@dataclass(frozen=True)
class Writing:
    """What is burnt into one frame."""

    left: str
    middle: str
    right: str


def shot_stretches(shot: ShotSoFar) -> tuple[Stretch, ...]:
    """The shot's pictures in order, each as long as it is held, with those shown again in between;
    then the frames it reuses without saying which.

    Those are taken from the first picture on, as in a cycle; and only once nothing else of the shot
    is lacking, because before that nobody knows where the reused frames would fall.
    """
    pictures = {picture.number: picture for picture in shot.pictures}
    order = frame_order(
        [
            Shown(picture.number, picture.frames or shot.exposure, picture.again)
            for picture in shot.pictures
        ]
    )
    shown = [_place(shot, place, pictures[place.number]) for place in order]
    lacking = shot.frames - sum(one.frames for one in shown)
    again = sum(place.frames for place in order if place.is_again)
    if shown and 0 < lacking <= shot.reused_frames - again:
        shown += _reused(shown, lacking)
    return _numbered(shown)


def _place(shot: ShotSoFar, place: Place, picture: KeptPicture) -> Stretch:
    small = ", small" if picture.is_small else ""
    reused = ", reused" if place.is_again else ""
    note = f"picture {place.number}{small}{reused}"
    return _stretch(shot, picture.key, place.frames, note)


def film_stretches(shots: Iterable[ShotSoFar]) -> tuple[Stretch, ...]:
    """All shots in order; a grey card stands for what is still to be photographed or brought in."""
    film: list[Stretch] = []
    for shot in shots:
        shown = list(shot_stretches(shot))
        lacking = shot.frames - sum(one.frames for one in shown)
        if lacking > 0:
            note = NOT_HERE if shot.is_done else TO_COME
            shown.append(_stretch(shot, None, lacking, note))
        film += _numbered(shown)
    return tuple(film)


def length(stretches: Iterable[Stretch]) -> int:
    """In frames."""
    return sum(one.frames for one in stretches)


def writing(stretches: Iterable[Stretch], rate: Fraction) -> Iterator[tuple[Stretch, Writing]]:
    """Each frame of the preview: what it shows, and what is burnt into it.

    Frames are numbered in their shot from 1, as on the exposure sheet; timecode runs from 0.
    """
    count = 0
    for one in stretches:
        for frame in range(one.first_frame, one.first_frame + one.frames):
            clock = timecode(count, rate, drop_frame=rate == DROP_FRAME_RATE)
            yield one, Writing(f"{one.shot}  ·  {one.note}", f"frame {frame}", clock)
            count += 1


def _stretch(shot: ShotSoFar, picture: int | None, frames: int, note: str) -> Stretch:
    return Stretch(shot.code, shot.description, picture, frames, 1, note)


def _reused(shown: list[Stretch], frames: int) -> list[Stretch]:
    """The stretches from the first on, until ``frames`` are filled."""
    again = []
    for one in cycle(shown):
        if frames <= 0:
            return again
        note = f"{one.note.removesuffix(', reused')}, reused"
        again.append(replace(one, frames=min(one.frames, frames), note=note))
        frames -= one.frames
    return again


def _numbered(shown: list[Stretch]) -> tuple[Stretch, ...]:
    """With the number of each first frame."""
    numbered, first = [], 1
    for one in shown:
        numbered.append(replace(one, first_frame=first))
        first += one.frames
    return tuple(numbered)

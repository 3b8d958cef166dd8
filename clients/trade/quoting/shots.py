"""An accepted option as a shot list: a shot for each set-up of each sequence, no picture lost."""

from collections.abc import Iterator
from dataclasses import dataclass

from clients.trade.quoting.option import Option
from shots.trade.budget import ShotLength
from shots.trade.shot_codes import STEP
from shots.trade.split import split_length


@dataclass(frozen=True)
class PlannedSetup:
    """A set-up to come."""

    code: str
    name: str


@dataclass(frozen=True)
class PlannedShot:
    """A shot to come. `sequence` is the place of the sequence it is from in the option; `setup`
    a code, empty where nothing was set up yet; `agreed` the pictures quoted for it."""

    code: str
    sequence: int
    setup: str
    length: ShotLength
    agreed: int


@dataclass(frozen=True)
class ShotPlan:
    """Set-ups and shots. The shots' frames and agreed pictures add up to those of the option."""

    setups: tuple[PlannedSetup, ...]
    shots: tuple[PlannedShot, ...]


def shot_plan(option: Option) -> ShotPlan:
    """The shots an option was quoted for. A sequence without a set-up of its own is shot in the
    one before it."""
    setups: list[PlannedSetup] = []
    shots: list[PlannedShot] = []
    for place, sequence in enumerate(option.sequences):
        first = len(setups)
        setups += [
            PlannedSetup(f"S{first + n + 1:02}", sequence.label) for n in range(sequence.setups)
        ]
        whole = sequence.length(option.rate)
        codes = [setup.code for setup in setups[first:]] or [setups[-1].code if setups else ""]
        left = whole.pictures
        lengths = list(_parts(whole, len(codes)))
        for n, (length, code) in enumerate(zip(lengths, codes, strict=False)):
            agreed = left if n == len(lengths) - 1 else min(length.pictures, left)
            left -= agreed
            shots.append(PlannedShot(f"{(len(shots) + 1) * STEP:03}", place, code, length, agreed))
    return ShotPlan(tuple(setups), tuple(shots))


def _parts(whole: ShotLength, count: int) -> Iterator[ShotLength]:
    """Cut into `count` parts of whole pictures, or fewer where it is too short for so many."""
    each = whole.screen_frames // count // whole.exposure * whole.exposure
    while count > 1 and 0 < each < whole.screen_frames:
        part, whole = split_length(whole, each)
        yield part
        count -= 1
    yield whole

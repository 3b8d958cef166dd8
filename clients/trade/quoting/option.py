"""One way of making the film: its sequences, and the frames, pictures and hours they come to."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.errors import QuoteError, check_number
from shots.trade.budget import BudgetError, ShotLength
from studio.trade.timecode import SECONDS_IN_A_DAY, frames_from_seconds

_ENTRY_OF = {"held_frames": "held_seconds", "reused_frames": "reused_seconds"}
_EXPOSURES = {1: "ones", 2: "twos", 3: "threes", 4: "fours"}


@dataclass(frozen=True)
class Sequence:
    """A run of shots quoted as one.

    Lengths are seconds of the finished film, `handles` are frames. `holds` is how many holds the
    held seconds fall into; it counts only where something is held. `setups` may be 0 where the
    sequence shares a set-up with another. `characters` moving on screen does not change the
    arithmetic (the difficulty does): it is written into the assumptions.
    Raises QuoteError.
    """

    label: str
    seconds: Decimal
    exposure: int
    difficulty: str
    held_seconds: Decimal = Decimal(0)
    holds: int = 1
    reused_seconds: Decimal = Decimal(0)
    handles: int = 0
    setups: int = 1
    characters: int = 1

    def __post_init__(self):
        name = f"“{self.label}”"
        check_number(
            "seconds", self.seconds, f"{name}: length", above_least=True, most=SECONDS_IN_A_DAY
        )
        check_number("held_seconds", self.held_seconds, f"{name}: held seconds")
        check_number("reused_seconds", self.reused_seconds, f"{name}: reused seconds")
        for field in ("exposure", "holds", "handles", "setups", "characters"):
            value = getattr(self, field)
            if not isinstance(value, int) or not 0 <= value <= 1_000_000:
                raise QuoteError(field, f"{name}: {field} is {value}: enter a whole number.")
        if not self.difficulty:
            raise QuoteError("difficulty", f"{name} has no difficulty: choose how slow it is.")

    def length(self, rate: Fraction) -> ShotLength:
        """The sequence in frames at `rate` frames per second. Raises QuoteError."""
        held = frames_from_seconds(self.held_seconds, rate)
        try:
            return ShotLength(
                screen_frames=frames_from_seconds(self.seconds, rate),
                exposure=self.exposure,
                handles=self.handles,
                held_frames=held,
                holds=self.holds if held else 0,
                reused_frames=frames_from_seconds(self.reused_seconds, rate),
            )
        except BudgetError as error:
            field = _ENTRY_OF.get(error.field, error.field)
            raise QuoteError(field, f"“{self.label}”: {error.sentence}") from error


@dataclass(frozen=True)
class Option:
    """One way of making the film. `rate` is frames per second; `runtime` the seconds agreed.

    Raises QuoteError for an option without sequences.
    """

    label: str
    rate: Fraction
    sequences: tuple[Sequence, ...]
    runtime: Decimal | None = None

    def __post_init__(self):
        if self.rate <= 0:
            raise QuoteError("rate", f"The frame rate is {self.rate}: enter one such as 24 or 25.")
        if not self.sequences:
            raise QuoteError(
                "sequences", f"The option “{self.label}” has no sequences: add at least one."
            )
        if self.runtime is not None:
            check_number("runtime", self.runtime, "The runtime", above_least=True)

    @property
    def frames(self) -> int:
        """Frames on screen: the sum of the sequences, each rounded to whole frames."""
        return sum(frames_from_seconds(one.seconds, self.rate) for one in self.sequences)

    @property
    def frames_over(self) -> int:
        """Frames the sequences are over the agreed runtime; negative when under it."""
        if self.runtime is None:
            return 0
        return self.frames - frames_from_seconds(self.runtime, self.rate)


SLOWEST = Decimal("0.01")  # pictures an hour: nobody animates slower, and hours stay numbers


@dataclass(frozen=True)
class Work:
    """What an option takes. Hours are at the pace given, without set-ups, spread or lost days."""

    frames: int
    setups: int
    pictures_by_difficulty: Mapping[str, int]
    hours_by_difficulty: Mapping[str, Fraction]

    @property
    def pictures(self) -> int:
        return sum(self.pictures_by_difficulty.values())

    @property
    def float_hours(self) -> dict[str, float]:
        """Hours by difficulty as the forecast reads them."""
        return {name: float(hours) for name, hours in self.hours_by_difficulty.items()}

    @property
    def hours(self) -> Fraction:
        return sum(self.hours_by_difficulty.values(), Fraction(0))


def work_of(option: Option, pace: Mapping[str, Decimal]) -> Work:
    """Frames, pictures and hours of an option at `pace`, pictures an hour by difficulty.

    Raises QuoteError for a difficulty without a pace or a pace of 0 or below.
    """
    pictures: dict[str, int] = {}
    for sequence in option.sequences:
        needed = sequence.length(option.rate).pictures
        pictures[sequence.difficulty] = pictures.get(sequence.difficulty, 0) + needed
    return Work(
        frames=option.frames,
        setups=sum(sequence.setups for sequence in option.sequences),
        pictures_by_difficulty=pictures,
        hours_by_difficulty={
            name: hours_for(count, name, pace) for name, count in pictures.items()
        },
    )


def hours_for(pictures: int | Fraction, difficulty: str, pace: Mapping[str, Decimal]) -> Fraction:
    """Hours for so many pictures of one difficulty. Raises QuoteError where the pace is missing."""
    if difficulty not in pace:
        known = ", ".join(pace) or "none"
        raise QuoteError(
            "pace", f"“{difficulty}” has no pace: enter pictures an hour for it (known: {known})."
        )
    check_number("pace", pace[difficulty], f"The pace of “{difficulty}”", least=SLOWEST)
    return Fraction(pictures) / Fraction(pace[difficulty])


def exposure_words(exposure: int) -> str:
    """ "ones", "twos", "threes", "fours", then "5s" and so on."""
    return _EXPOSURES.get(exposure, f"{exposure}s")

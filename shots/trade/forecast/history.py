"""What the forecast reads and what it answers: one dataclass for each object of the JSON files."""

import pickle
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from hashlib import sha256

import numpy as np

from studio.trade.calendar import CalendarError, WorkCalendar


class HistoryError(ValueError):
    """A history that cannot be read. `field` names the place, such as `shots[3].pictures_kept`."""

    def __init__(self, field: str, problem: str):
        super().__init__(f"{field}: {problem}")
        self.field = field


@dataclass(frozen=True)
class Capture:
    """How pictures are taken: frames each picture is held for, and spare frames at either end."""

    exposure: int = 1
    handles: int = 0


@dataclass(frozen=True)
class Shot:
    """A shot as it stands. `pictures_budgeted` is the plan; the final number shows when done."""

    code: str
    difficulty: str
    setup: str | None
    pictures_budgeted: float
    pictures_kept: float = 0
    done: bool = False


@dataclass(frozen=True)
class Output:
    """Pictures taken of one shot in one session."""

    shot: str
    kept: float
    discarded: float = 0


@dataclass(frozen=True)
class Session:
    """One block of shooting on one date; `hours` include `setup_hours`."""

    date: date
    hours: float
    setup_hours: float = 0.0
    output: tuple[Output, ...] = ()

    @property
    def kept(self) -> float:
        return sum(output.kept for output in self.output)


def _digest(value: object) -> bytes:
    return sha256(pickle.dumps(value)).digest()


FIVE_DAYS = WorkCalendar(frozenset(range(5)), frozenset(), 7.0)  # where a file has no calendar


@dataclass(frozen=True, kw_only=True)
class Production:
    """What is known of one production, running or finished.

    `assumed_pictures_per_hour` is the quoted pace of each difficulty, without set-up time.
    """

    shots: tuple[Shot, ...] = ()
    sessions: tuple[Session, ...] = ()
    calendar: WorkCalendar = FIVE_DAYS
    assumed_pictures_per_hour: Mapping[str, float] = field(default_factory=dict)
    fps: float = 25
    capture: Capture = Capture()


@dataclass(frozen=True, kw_only=True)
class PastProduction(Production):
    """A finished production of the same studio; `finished` is its last day of shooting if known."""

    finished: date | None = None

    @cached_property
    def digest(self) -> bytes:
        """What tells this production from every other."""
        return _digest(self)


@dataclass(frozen=True, kw_only=True)
class History(Production):
    """A running production at the end of the day `as_of`, with the studio's finished ones."""

    as_of: date
    deadline: date | None = None
    past_productions: tuple[PastProduction, ...] = ()

    @cached_property
    def digest(self) -> bytes:
        """What tells this history from every other. Films that run share the finished ones, so
        those are read once for all of them."""
        past = b"".join(one.digest for one in self.past_productions)
        return _digest((replace(self, past_productions=()), past))

    def day_after(self, working_days: int) -> date | None:
        """The date so many working days after `as_of`; None where no calendar reaches it."""
        try:
            return self.calendar.add(self.as_of, working_days)
        except CalendarError:
            return None

    @property
    def shots_left(self) -> tuple[Shot, ...]:
        return tuple(shot for shot in self.shots if not shot.done)

    @property
    def pictures_left(self) -> float:
        """Pictures still budgeted for the shots that are not done."""
        return sum(max(s.pictures_budgeted - s.pictures_kept, 0) for s in self.shots_left)


@dataclass(frozen=True)
class PaceNeeded:
    """The pace that gives the chance `chance` of meeting the deadline.

    `factor` multiplies the pace expected now; None when no pace helps, because lost days or
    set-ups alone fill the time. `pictures_per_hour` is by difficulty, without set-up time.
    """

    chance: float
    factor: float | None
    pictures_per_hour: Mapping[str, float]


@dataclass(frozen=True)
class Answer:
    """The forecast. `samples` are whole working days left, one for each simulated future."""

    samples: tuple[int, ...]
    chance_of_deadline: float | None
    finish_dates: Mapping[float, date | None]
    pace_needed: PaceNeeded | None
    quote_sessions: Mapping[float, int]
    notes: tuple[str, ...] = ()

    def days(self, chance: float) -> int:
        """Working days left that are enough with probability `chance` (0 to 1)."""
        return quantile(self.samples, chance)

    @property
    def percentiles(self) -> list[int]:
        """Working days left that are enough with a chance of 1 % to 99 %."""
        chances = np.arange(1, 100) / 100
        return np.quantile(self.samples, chances, method="inverted_cdf").astype(int).tolist()


def quantile(samples: Sequence[int], chance: float) -> int:
    """The smallest sample that at least the share `chance` of all samples do not exceed."""
    return int(np.quantile(samples, chance, method="inverted_cdf"))

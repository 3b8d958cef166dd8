"""What the forecast reads and what it answers: one dataclass for each object of the JSON files."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np


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

    @property
    def shooting_hours(self) -> float:
        return max(self.hours - self.setup_hours, 0.0)


@dataclass(frozen=True)
class Calendar:
    """The working week (Monday is 0), the days off, and the hours planned for a day."""

    working_weekdays: frozenset[int] = frozenset(range(5))
    days_off: frozenset[date] = frozenset()
    hours_per_day: float = 7.0

    def works_on(self, day: date) -> bool:
        return day.weekday() in self.working_weekdays and day not in self.days_off

    def working_days(self, after: date, until: date) -> int:
        """Working days strictly after `after`, up to and including `until`; 0 when none."""
        span = (until - after).days
        if span <= 0:
            return 0
        weeks, rest = divmod(span, 7)
        days = weeks * len(self.working_weekdays)
        days += sum((after.weekday() + n) % 7 in self.working_weekdays for n in range(1, rest + 1))
        off = sum(
            after < day <= until and day.weekday() in self.working_weekdays for day in self.days_off
        )
        return days - off

    def date_after(self, start: date, days: int) -> date | None:
        """The date of the working day number `days` after `start` (0 is `start` itself).

        None where there is no such date: no working weekday, or later than the year 9999.
        """
        if days <= 0:
            return start
        if not self.working_weekdays:
            return None
        # Days off are few and weeks are regular: jump whole weeks, then walk the last stretch.
        weeks = max(days // len(self.working_weekdays) - 1, 0)
        try:
            day = start + timedelta(weeks=weeks)
            left = days - self.working_days(start, day)
            while left > 0:
                day += timedelta(days=1)
                left -= self.works_on(day)
        except OverflowError:
            return None
        return day


@dataclass(frozen=True, kw_only=True)
class Production:
    """What is known of one production, running or finished.

    `assumed_pictures_per_hour` is the quoted pace of each difficulty, without set-up time.
    """

    shots: tuple[Shot, ...] = ()
    sessions: tuple[Session, ...] = ()
    calendar: Calendar = Calendar()
    assumed_pictures_per_hour: Mapping[str, float] = field(default_factory=dict)
    fps: float = 25
    capture: Capture = Capture()


@dataclass(frozen=True, kw_only=True)
class PastProduction(Production):
    """A finished production of the same studio; `finished` is its last day of shooting if known."""

    finished: date | None = None


@dataclass(frozen=True, kw_only=True)
class History(Production):
    """A running production at the end of the day `as_of`, with the studio's finished ones."""

    as_of: date
    deadline: date | None = None
    past_productions: tuple[PastProduction, ...] = ()

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


def quantile(samples: Sequence[int], chance: float) -> int:
    """The smallest sample that at least the share `chance` of all samples do not exceed."""
    return int(np.quantile(samples, chance, method="inverted_cdf"))

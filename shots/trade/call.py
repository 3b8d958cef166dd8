"""The arithmetic of a call: hours, rest since the last wrap, what fills the day, and cautions.

Times of day are wall-clock times; moments are aware datetimes, so that rest is true across a
change of clocks.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

# Eleven hours in a row in every 24 (Directive 2003/88/EC, article 3).
DAILY_REST = timedelta(hours=11)
# A day longer than this cannot leave that rest before the same call on the next one.
LONGEST_DAY = timedelta(hours=24) - DAILY_REST
# Five to ten minutes away from the work in every hour (HSE); the longer one, to be safe.
SHARE_AT_THE_SET = 50 / 60


def day_words(day: date) -> str:
    """A day as it is said: "Tuesday 3 March 2026"."""
    return f"{day:%A} {day.day} {day:%B %Y}"


@dataclass(frozen=True)
class Hours:
    """From call to wrap. A wrap not later than the call is after midnight."""

    day: date
    call: time
    wrap: time

    @property
    def past_midnight(self) -> bool:
        return self.wrap <= self.call

    @property
    def length(self) -> timedelta:
        """By the clock on the wall."""
        opens = timedelta(hours=self.call.hour, minutes=self.call.minute)
        closes = timedelta(hours=self.wrap.hour, minutes=self.wrap.minute)
        return closes - opens + timedelta(days=self.past_midnight)

    @property
    def at_the_set(self) -> float:
        """Hours of work, the breaks of each hour left out."""
        return self.length / timedelta(hours=1) * SHARE_AT_THE_SET

    def start(self, zone: tzinfo) -> datetime:
        """The moment of the call."""
        return datetime.combine(self.day, self.call, zone)

    def end(self, zone: tzinfo) -> datetime:
        """The moment of the wrap."""
        return datetime.combine(self.day + timedelta(days=self.past_midnight), self.wrap, zone)

    def moment(self, at: time, zone: tzinfo) -> datetime:
        """When somebody called at this time arrives: after midnight only in a day that lasts so
        long."""
        after_midnight = self.past_midnight and at <= self.wrap
        return datetime.combine(self.day + timedelta(days=after_midnight), at, zone)


@dataclass(frozen=True)
class Rest:
    """The night between the last wrap and the first call."""

    ended: datetime
    call: datetime

    @property
    def length(self) -> timedelta:
        return self.call.astimezone(UTC) - self.ended.astimezone(UTC)

    @property
    def is_short(self) -> bool:
        return self.length < DAILY_REST

    @property
    def earliest(self) -> datetime:
        """The earliest call that gives the daily rest."""
        return (self.ended.astimezone(UTC) + DAILY_REST).astimezone(self.call.tzinfo)

    @property
    def sentence(self) -> str:
        """The rest in words, with the call that would do where it is short."""
        minutes = max(int(self.length / timedelta(minutes=1)), 0)
        between = (
            f"{minutes // 60} h {minutes % 60:02d} min between the end of work at "
            f"{self.ended.astimezone(self.call.tzinfo):%H:%M} and the first call at "
            f"{self.call:%H:%M}"
        )
        if not self.is_short:
            return f"{between}."
        return (
            f"Only {between}, less than 11 hours of rest. The earliest call that gives them is "
            f"{self.earliest:%H:%M}. Local law decides."
        )


@dataclass(frozen=True)
class ShotLeft:
    """A shot with pictures to take; `pace` is in pictures an hour, set-up time left out."""

    code: str
    setup: str
    pictures: int
    pace: float
    begun: bool = False


def fill_day(
    shots: Sequence[ShotLeft], hours: float, setup_hours: Mapping[str, float], standing: str = ""
) -> dict[str, int]:
    """Pictures to take by shot code, in shooting order, until the hours are spent.

    Shots come in film order. A set-up is shot out before the next is built, beginning with the one
    that stands; in it, shots already begun come first. Each set-up costs its `setup_hours` first.
    """
    setups = dict.fromkeys(shot.setup for shot in shots)
    taken: dict[str, int] = {}
    for setup in sorted(setups, key=lambda name: name != standing):
        hours -= setup_hours.get(setup, 0.0)
        of_setup = [shot for shot in shots if shot.setup == setup]
        for shot in sorted(of_setup, key=lambda shot: not shot.begun):
            pictures = min(shot.pictures, int(hours * shot.pace))
            if pictures < 1:
                return taken
            taken[shot.code] = pictures
            hours -= pictures / shot.pace
    return taken


@dataclass(frozen=True)
class Targets:
    """What the day asks: pictures, the hours they need, and the hours there are."""

    pictures: int
    hours_needed: float
    hours_there: float
    measured: bool

    @property
    def is_too_much(self) -> bool:
        return self.hours_needed > 1.1 * self.hours_there

    @property
    def sentence(self) -> str:
        if not self.pictures:
            return "No pictures to take: a day to build, light or rehearse."
        pace = "your pace so far" if self.measured else "the assumed pace"
        verdict = (
            f", more than the {self.hours_there:.1f} h there are: expect to finish less"
            if self.is_too_much
            else f" of the {self.hours_there:.1f} h there are"
        )
        plural = "s" if self.pictures != 1 else ""
        return (
            f"{self.pictures} picture{plural} to keep. At {pace} they take about "
            f"{self.hours_needed:.1f} h, set-up time included{verdict} "
            "(10 minutes of every hour left for breaks)."
        )


def targets(
    to_take: Iterable[tuple[int, float]], setup_hours: float, hours: float, measured: bool
) -> Targets:
    """Targets of a day from (pictures, pace in pictures an hour) of each shot."""
    rows = list(to_take)
    return Targets(
        pictures=sum(pictures for pictures, _ in rows),
        hours_needed=setup_hours + sum(pictures / pace for pictures, pace in rows),
        hours_there=hours,
        measured=measured,
    )


@dataclass(frozen=True)
class Caution:
    """Something that can hurt somebody, and who decides about it."""

    about: str
    text: str


CAUTIONS = (
    Caution(
        "Lamps",
        "Hot: keep felt, paper, sprays and hands clear, let them cool before touching, off when "
        "the set is left. The maker’s instructions decide.",
    ),
    Caution(
        "Cables",
        "Uncoil extension reels fully before loading them; tape cables down, dry, out of the way. "
        "Local code and a licensed electrician decide.",
    ),
    Caution(
        "Blades, adhesives",
        "Cut away from the hand, cap blades. Glue, resin, spray and paint: moving air, gloves, "
        "away from hot lamps. The label and safety sheet decide.",
    ),
    Caution(
        "Ladders",
        "Level, locked and held by somebody; never overreach to a lamp. Local rules for work at "
        "height decide.",
    ),
    Caution(
        "Breaks",
        "5 to 10 minutes away from the set each hour, more in a day over 6 hours, 11 hours of rest "
        "to the next call. Local law decides.",
    ),
    Caution(
        "Flashing",
        "Strobes and flashing lamps or screens can bring on seizures: ask and warn everybody "
        "first. Medical advice decides.",
    ),
    Caution(
        "Minors",
        "Anybody under 18 on set works shorter hours with longer rest, away from hot lamps, blades "
        "and solvents, with a guardian. Local law decides.",
    ),
)


def day_cautions(
    rest: Rest | None, hours: Hours, over_80_percent: Sequence[str]
) -> tuple[Caution, ...]:
    """What this day asks beyond the CAUTIONS of every day; set-ups over load go by their code."""
    own = []
    if rest and rest.is_short:
        own.append(Caution("Rest", rest.sentence))
    if hours.length > LONGEST_DAY:
        own.append(
            Caution(
                "Long day",
                f"{hours.length / timedelta(hours=1):g} h from call to wrap leave less than 11 "
                "hours before the same call tomorrow. Local law decides.",
            )
        )
    if over_80_percent:
        plural = "s" if len(over_80_percent) > 1 else ""
        own.append(
            Caution(
                "Lamp load",
                f"Set-up{plural} {', '.join(over_80_percent)}: over 80 % of the circuit. Spread "
                "the lamps over another circuit. Your local code and a licensed electrician "
                "decide.",
            )
        )
    return tuple(own)

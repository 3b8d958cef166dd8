"""What a new call sheet proposes: the day, the hours, the people, and the shots that fill it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta

from django.db.models import Q

from shots.models import CallSheet, Production, Session, Shot
from shots.queries.history import histories
from shots.trade.call import Hours, ShotLeft, fill_day
from shots.trade.forecast import History
from shots.trade.forecast.beliefs import BEGUN_SETUP, believe, setup_of
from studio.models import Person, Studio
from studio.queries import work_calendar

USUAL_CALL = time(9)
LOOK_AHEAD = 400  # days searched for the next working day


def next_day(production: Production, studio: Studio, today: date) -> date:
    """The next working day without a call sheet; tomorrow where no day is worked."""
    calendar = work_calendar(studio, today, years=2)
    ahead = production.call_sheets.current().filter(day__gt=today)
    taken = set(ahead.values_list("day", flat=True))
    days = (today + timedelta(days=n) for n in range(1, LOOK_AHEAD))
    free = (day for day in days if calendar.is_working(day) and day not in taken)
    return next(free, today + timedelta(days=1))


@dataclass(frozen=True)
class Proposal:
    """A call sheet as it could be: times of the last one, shots that fill the day.

    `calls` are by person, `pictures` by shot in shooting order, both by primary key.
    """

    day: date
    call: time
    wrap: time
    calls: dict[int, time]
    pictures: dict[int, int]


def proposal(production: Production, studio: Studio, today: date, day: date) -> Proposal:
    """Sensible defaults for a new call sheet."""
    last = production.call_sheets.current().first()
    usual_wrap = wrap_after(USUAL_CALL, float(studio.hours_per_day))
    call, wrap = (last.call, last.wrap) if last else (USUAL_CALL, usual_wrap)
    here = Person.objects.filter(is_active=True).values_list("pk", flat=True)
    calls = calls_of(last) if last else dict.fromkeys(here, call)
    calls = {person: at for person, at in calls.items() if person in set(here)}
    hours = Hours(day, call, wrap).at_the_set
    return Proposal(day, call, wrap, calls, _pictures_for(production, studio, today, hours))


def wrap_after(call: time, hours: float) -> time:
    """The first wrap, in half hours from the call on, that leaves so many hours at the set."""
    begins = call.hour * 60 + call.minute
    wrap = call
    for minutes in range(begins + 30, 24 * 60, 30):
        wrap = time(minutes // 60, minutes % 60)
        if Hours(date.min, call, wrap).at_the_set >= hours:
            break
    return wrap


@dataclass(frozen=True)
class DayPace:
    """How fast a day may go: pictures an hour by difficulty, and hours to build a set-up."""

    pictures_per_hour: dict[str, float]
    setup_hours: float
    begun: frozenset[str]
    measured: bool

    def of(self, shot: Shot) -> float:
        """Pictures an hour expected of a shot, set-up time left out."""
        assumed = float(shot.difficulty.pictures_per_hour)
        return self.pictures_per_hour.get(shot.difficulty.name, assumed)

    def building(self, shots: Iterable[Shot]) -> dict[str, float]:
        """Hours to build, by key, the set-ups these shots are taken in."""
        setups = {setup_key(shot): shot.setup for shot in shots}
        return {
            key: self.setup_hours * (BEGUN_SETUP if setup and setup.code in self.begun else 1)
            for key, setup in setups.items()
        }


def day_pace(history: History) -> DayPace:
    """The pace expected now: measured where there are sessions, else assumed."""
    beliefs = believe(history)
    return DayPace(
        pictures_per_hour=beliefs.pace.expected(),
        setup_hours=beliefs.setup.mean,
        begun=frozenset(setup_of(s) for s in history.shots if s.done or s.pictures_kept > 0),
        measured=any(session.kept for session in history.sessions),
    )


def _pictures_for(
    production: Production, studio: Studio, today: date, hours: float
) -> dict[int, int]:
    """Pictures by shot that fill these hours at the pace measured so far, else assumed."""
    pace = day_pace(histories([production], studio, today)[production.pk])
    shots = [shot for shot in shots_to_choose(production) if shot.pictures_left]
    latest = Session.objects.current().filter(production=production, setup__isnull=False).first()
    taken = fill_day(
        [
            ShotLeft(
                code=str(shot.pk),
                setup=setup_key(shot),
                pictures=shot.pictures_left,
                pace=pace.of(shot),
                begun=shot.kept > 0,
            )
            for shot in shots
        ],
        hours,
        pace.building(shots),
        standing=str(latest.setup_id) if latest else "",
    )
    return {int(code): pictures for code, pictures in taken.items()}


def setup_key(shot: Shot) -> str:
    """A key for the set-up of a shot; empty for a shot without one."""
    return str(shot.setup_id or "")


def shots_to_choose(production: Production, also: Iterable[int] = ()) -> list[Shot]:
    """Shots left to shoot and those in `also` by primary key, grouped by set-up in film order."""
    left = Q(archived_at=None, status__in=Shot.LEFT)
    rows = production.shots.filter(left | Q(pk__in=list(also))).with_counts()
    shots = list(rows.select_related("setup", "difficulty"))
    first = {setup_key(shot): n for n, shot in reversed(list(enumerate(shots)))}
    return sorted(shots, key=lambda shot: first[setup_key(shot)])


def people_to_call(also: Iterable[int] = ()) -> list[Person]:
    """Everybody who works here, and those in `also` by primary key."""
    return list(Person.objects.filter(Q(is_active=True) | Q(pk__in=list(also))))


def calls_of(sheet: CallSheet) -> dict[int, time]:
    """Call times by person."""
    return {one.person_id: one.call for one in sheet.people.all()}


def pictures_of(sheet: CallSheet) -> dict[int, int]:
    """Pictures to take by shot, in shooting order."""
    return {one.shot_id: one.pictures for one in sheet.shots.all()}

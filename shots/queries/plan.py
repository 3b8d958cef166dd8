"""What the plan is made from, read from the floor, and the plan made from it."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shots.models import Absence, Production, Session, Shot, Wish
from shots.queries.call_sheet_proposal import DayPace, day_pace
from shots.queries.history import histories
from shots.trade.call import day_words
from shots.trade.plan import (
    Plan,
    PlannedDay,
    ShotToPlan,
    Work,
    WorkingDay,
    film_order_plan,
    make_plan,
)
from studio.models import Person, Studio
from studio.queries import work_calendar
from studio.trade.calendar import WorkCalendar

SPARE_DAYS = 10  # looked at beyond what the work needs
MOST_DAYS = 250  # working days looked ahead, about a year
LOOK_AHEAD = 4 * 366  # calendar days searched for them


@dataclass(frozen=True)
class Standing:
    """Everything the plan is made from. Shots by code; people by the name they go by here."""

    production: Production
    shots: Mapping[str, Shot]
    to_plan: tuple[ShotToPlan, ...]
    days: tuple[WorkingDay, ...]
    setup_hours: Mapping[str, float]
    standing: str | None
    pace: DayPace
    hours_there: Mapping[date, Mapping[str, float]]  # of those who are not there all day
    names: Mapping[int, str]
    past_pins: tuple[str, ...]

    def made(self) -> Plan:
        """The plan. Raises ValueError for shots that wait for each other in a circle."""
        return make_plan(self.to_plan, self.days, **self._terms())

    def in_film_order(self) -> Plan:
        """The same shots in the order of the film."""
        return film_order_plan(self.to_plan, self.days, **self._terms())

    def away(self, day: date) -> tuple[str, ...]:
        """Who is not there at all on a day."""
        return tuple(sorted(name for name, hours in self._partly(day) if not hours))

    def short(self, day: date) -> tuple[tuple[str, float], ...]:
        """Who is there for some hours of a day only, and for how many."""
        return tuple(sorted((name, hours) for name, hours in self._partly(day) if hours))

    def _partly(self, day: date) -> Iterable[tuple[str, float]]:
        return self.hours_there.get(day, {}).items()

    def _terms(self) -> dict:
        return {
            "setup_hours": self.setup_hours,
            "standing": self.standing,
            "deadline": self.production.deadline,
        }


def standing(production: Production, studio: Studio, today: date) -> Standing:
    """What is left to shoot, the days and people there are, and what is wished."""
    history = histories([production], studio, today)[production.pk]
    pace = day_pace(history)
    shots = [shot for shot in _left(production) if shot.pictures_left]
    names = names_by_person()
    wishes = [_wish(shot) for shot in shots]
    first = history.as_of + timedelta(days=1)
    hours = {shot.code: shot.pictures_left / pace.of(shot) for shot in shots}
    setup_hours = _building(pace, shots)
    hours_there = hours_there_by_day(names, first, float(studio.hours_per_day))
    days = _working_days(
        production,
        work_calendar(studio, first, years=4),
        first,
        sum(hours.values()) + sum(setup_hours.values()),
        hours_there,
        names.values(),
    )
    latest = Session.objects.current().filter(production=production, setup__isnull=False)
    stands = latest.select_related("setup").first()
    return Standing(
        production=production,
        shots={shot.code: shot for shot in shots},
        to_plan=tuple(
            ShotToPlan(
                code=shot.code,
                hours=hours[shot.code],
                setup=setup_code(shot),
                after=tuple(other.code for other in wish.after.all()) if wish else (),
                people=frozenset(
                    names[person.pk] for person in wish.people.all() if person.pk in names
                )
                if wish
                else frozenset(),
                pinned=wish.pinned if wish and wish.pinned and wish.pinned >= first else None,
                earliest=wish.earliest if wish else None,
                latest=wish.latest if wish else None,
                priority=wish.priority if wish else 0,
            )
            for shot, wish in zip(shots, wishes, strict=True)
        ),
        days=days,
        setup_hours=setup_hours,
        standing=stands.setup.code if stands else None,
        pace=pace,
        hours_there=hours_there,
        names=names,
        past_pins=tuple(
            f"{shot.code} was pinned to {day_words(wish.pinned)}, which is past: it flows with "
            "the rest."
            for shot, wish in zip(shots, wishes, strict=True)
            if wish and wish.pinned and wish.pinned < first
        ),
    )


def _left(production: Production) -> list[Shot]:
    rows = Shot.objects.left_to_shoot().filter(production=production).with_counts()
    rows = rows.select_related("setup", "difficulty", "wish")
    return list(rows.prefetch_related("wish__after", "wish__people"))


def _wish(shot: Shot) -> Wish | None:
    return getattr(shot, "wish", None)


def setup_code(shot: Shot) -> str:
    """The code of a shot's set-up; empty for a shot without one."""
    return shot.setup.code if shot.setup else ""


def _building(pace: DayPace, shots: Sequence[Shot]) -> dict[str, float]:
    """Hours to build each set-up, by its code."""
    codes = {str(shot.setup_id or ""): setup_code(shot) for shot in shots}
    return {codes[key]: hours for key, hours in pace.building(shots).items()}


def names_by_person() -> dict[int, str]:
    """Everybody who works here by primary key; namesakes are told apart by their number."""
    people = list(Person.objects.filter(is_active=True))
    often = Counter(person.name for person in people)
    return {
        person.pk: person.name if often[person.name] == 1 else f"{person.name} ({person.pk})"
        for person in people
    }


def hours_there_by_day(
    names: Mapping[int, str], first: date, whole_day: float
) -> dict[date, dict[str, float]]:
    """Hours of those who are away (0) or leave early, on each day from `first` as far as planned.

    Where two rows speak of one day, the fewer hours hold.
    """
    there: dict[date, dict[str, float]] = {}
    ahead = first + timedelta(days=LOOK_AHEAD)
    rows = Absence.objects.filter(person__in=names, first__lte=ahead)
    for row in rows.exclude(last__lt=first):
        hours = float(row.hours or 0)
        if hours >= whole_day:
            continue
        for day in row.days(first, ahead):
            people = there.setdefault(day, {})
            name = names[row.person_id]
            people[name] = min(hours, people.get(name, whole_day))
    return there


def _working_days(
    production: Production,
    calendar: WorkCalendar,
    first: date,
    hours: float,
    hours_there: Mapping[date, Mapping[str, float]],
    everybody: Collection[str],
) -> tuple[WorkingDay, ...]:
    """Days enough for all the work twice over, and up to the deadline; at most `MOST_DAYS`."""
    wanted = 2 * hours + SPARE_DAYS * calendar.hours_per_day
    found: list[WorkingDay] = []
    days = 0
    for n in range(LOOK_AHEAD):
        day = first + timedelta(days=n)
        due = production.deadline and day <= production.deadline
        if days == MOST_DAYS or (wanted <= 0 and not due):
            break
        if calendar.is_working(day):
            stretches = _stretches(day, calendar.hours_per_day, hours_there.get(day, {}), everybody)
            found += stretches
            days += bool(stretches)
            wanted -= sum(one.hours for one in stretches)
    return tuple(found)


def _stretches(
    day: date, whole: float, hours_there: Mapping[str, float], everybody: Collection[str]
) -> list[WorkingDay]:
    """A working day until each one leaves; none where everybody is away all day."""
    there = {name: hours_there.get(name, whole) for name in everybody}
    found, opens = [], 0.0
    for closes in sorted({*there.values()} - {0.0}) if there else [whole]:
        people = frozenset(name for name, hours in there.items() if hours >= closes)
        found.append(WorkingDay(day, closes - opens, people if len(people) < len(there) else None))
        opens = closes
    return found


def days_of(plan: Plan) -> dict[str, list[str]]:
    """First and last day of each planned shot, as a `PlanStep` keeps them."""
    return {shot.code: [shot.first.isoformat(), shot.last.isoformat()] for shot in plan.shots}


def pictures_on(day: PlannedDay, now: Standing) -> dict[str, int]:
    """Pictures to take by shot code on a day, in shooting order.

    A shot split over days gives each its share of the pictures left, at least one.
    """
    return {
        work.shot: max(1, round(now.shots[work.shot].pictures_left * _share(work, now)))
        for work in day.work
        if work.shot
    }


def _share(work: Work, now: Standing) -> float:
    if work.parts == 1:
        return 1.0
    whole = now.shots[work.shot].pictures_left / now.pace.of(now.shots[work.shot])
    return work.hours / whole if whole else 1.0

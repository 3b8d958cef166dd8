"""What the plan is made from, read from the floor, and the plan made from it."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

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
    away: Mapping[date, tuple[str, ...]]
    names: Mapping[int, str]
    past_pins: tuple[str, ...]

    def made(self) -> Plan:
        """The plan. Raises ValueError for shots that wait for each other in a circle."""
        return make_plan(self.to_plan, self.days, **self._terms())

    def in_film_order(self) -> Plan:
        """The same shots in the order of the film."""
        return film_order_plan(self.to_plan, self.days, **self._terms())

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
    away = absences_by_day(names, first)
    days = _working_days(
        production, studio, first, sum(hours.values()) + sum(setup_hours.values()), away, names
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
        away=away,
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


def absences_by_day(names: Mapping[int, str], first: date) -> dict[date, tuple[str, ...]]:
    """Who of these people is away on each day from `first` on, as far as a plan looks."""
    away: dict[date, set[str]] = {}
    ahead = first + timedelta(days=LOOK_AHEAD)
    rows = Absence.objects.filter(person__in=names, first__lte=ahead)
    for row in rows.exclude(last__lt=first):
        begins, ends = max(row.first, first), min(row.last or ahead, ahead)
        for n in range((ends - begins).days + 1):
            day = begins + timedelta(days=n)
            if not row.weekdays or day.weekday() in row.weekdays:
                away.setdefault(day, set()).add(names[row.person_id])
    return {day: tuple(sorted(who)) for day, who in away.items()}


def _working_days(
    production: Production,
    studio: Studio,
    first: date,
    hours: float,
    away: Mapping[date, tuple[str, ...]],
    names: Mapping[int, str],
) -> tuple[WorkingDay, ...]:
    """Days enough for all the work twice over, and up to the deadline; at most `MOST_DAYS`.

    A day on which everybody is away is not worked.
    """
    calendar = work_calendar(studio, first, years=4)
    everybody = frozenset(names.values())
    wanted = min(MOST_DAYS, 10 + ceil(2 * hours / calendar.hours_per_day))
    days: list[WorkingDay] = []
    for n in range(LOOK_AHEAD):
        day = first + timedelta(days=n)
        due = production.deadline and day <= production.deadline
        if len(days) >= (MOST_DAYS if due else wanted):
            break
        there = everybody - set(away.get(day, ()))
        if calendar.is_working(day) and (there or not everybody):
            people = there if len(there) < len(everybody) else None
            days.append(WorkingDay(day, calendar.hours_per_day, people))
    return tuple(days)


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

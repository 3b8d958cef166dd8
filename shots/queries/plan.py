"""The plan as it stands now: read from the floor, made by the engine, laid out for the page."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from math import ceil

from shots.models import Absence, CallSheet, PlanStep, Production, Session, Setup, Shot, Wish
from shots.queries.call_sheet_proposal import DayPace, day_pace
from shots.queries.history import histories
from shots.trade.call import day_words
from shots.trade.plan import (
    Moved,
    Plan,
    PlannedDay,
    PlannedShot,
    Saving,
    ShotToPlan,
    Work,
    WorkingDay,
    film_order_plan,
    make_plan,
    moved,
    saving,
)
from studio.models import Person, Studio
from studio.queries import work_calendar

MOST_DAYS = 250  # working days looked ahead, about a year
LOOK_AHEAD = 4 * 366  # calendar days searched for them
STEPS_SHOWN = 10


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


# The page


@dataclass(frozen=True)
class DayShot:
    """A shot on one day: `hours` of it, `pictures` to take, and its part of several days."""

    shot: Shot
    work: Work
    pictures: int
    pinned: date | None
    slips: bool
    earlier: date | None
    later: date | None


@dataclass(frozen=True)
class Block:
    """Shots that follow each other in one set-up; `building` is hours to build it first."""

    setup: Setup | None
    building: float
    shots: tuple[DayShot, ...]
    earlier: date | None
    later: date | None


@dataclass(frozen=True)
class DayPage:
    """A working day with what fills it."""

    planned: PlannedDay
    blocks: tuple[Block, ...]
    away: tuple[str, ...]
    call_sheet: CallSheet | None

    @property
    def filled_share(self) -> float:
        return min(self.planned.filled / self.planned.hours, 1.0) if self.planned.hours else 0.0

    @property
    def filled_words(self) -> str:
        return f"{self.planned.filled:.1f} of {self.planned.hours:g} h"


@dataclass(frozen=True)
class PlanPage:
    """The plan tab. `circle` is why there is no plan, where shots wait for each other."""

    production: Production
    sentence: str
    saving: str
    notes: tuple[str, ...]
    left_out: tuple[tuple[Shot, str], ...]
    days: tuple[DayPage, ...]
    spare: tuple[date, ...]
    steps: tuple[PlanStep, ...]
    since: PlanStep | None
    moved: tuple[Moved, ...]
    empty_setups: tuple[Setup, ...]
    circle: str = ""


def plan_page(
    production: Production, studio: Studio, today: date, since: int | None = None
) -> PlanPage:
    """The plan now, beside what stood before a change by hand (the last, or step `since`)."""
    now = standing(production, studio, today)
    steps = tuple(production.plan_steps.filter(undone_at=None).select_related("by")[:STEPS_SHOWN])
    compared = next((step for step in steps if step.pk == since), steps[0] if steps else None)
    empty = _empty_setups(production)
    try:
        plan = now.made()
    except ValueError as error:
        return PlanPage(
            production, "", "", (), (), (), (), steps, compared, (), empty, circle=str(error)
        )
    slips = set(plan.slipping)
    sheets = {sheet.day: sheet for sheet in production.call_sheets.current().filter(day__gte=today)}
    worked = tuple(day for day in plan.days if day.work)
    dates = tuple(day.date for day in plan.days)
    until = dates.index(worked[-1].date) + 3 if worked else 0
    return PlanPage(
        production=production,
        sentence=_sentence(plan, now),
        saving=_saving_words(saving(plan, now.in_film_order()), plan),
        notes=(*plan.notes, *now.past_pins),
        left_out=tuple((now.shots[code], reason) for code, reason in plan.left_out),
        days=tuple(
            _day_page(day, dates, now, slips, sheets.get(day.date)) for day in plan.days[:until]
        ),
        spare=dates[:until],
        steps=steps,
        since=compared,
        moved=moved(_before(compared), plan) if compared else (),
        empty_setups=empty,
    )


def _empty_setups(production: Production) -> tuple[Setup, ...]:
    used = Shot.objects.in_film().filter(production=production, setup__isnull=False)
    return tuple(production.setups.current().exclude(pk__in=used.values("setup")))


def _before(step: PlanStep) -> Plan:
    """A plan with nothing but the days its shots stood on."""
    shots = tuple(
        PlannedShot(code, "", date.fromisoformat(first), date.fromisoformat(last), slips=False)
        for code, (first, last) in step.days.items()
    )
    return Plan((), shots, (), 0, 0, ())


def days_of(plan: Plan) -> dict[str, list[str]]:
    """First and last day of each planned shot, as a `PlanStep` keeps them."""
    return {shot.code: [shot.first.isoformat(), shot.last.isoformat()] for shot in plan.shots}


def _sentence(plan: Plan, now: Standing) -> str:
    count = len(now.to_plan)
    if not count:
        return "Every shot is shot: there is nothing left to plan."
    plural = "s" if count != 1 else ""
    if not plan.shots:
        return f"{count} shot{plural} left, and no day to shoot on."
    words = (
        f"{count} shot{plural} left fill {plan.days_used} working "
        f"day{'s' if plan.days_used != 1 else ''} at even chance, until {day_words(plan.finish)}."
    )
    deadline = now.production.deadline
    if not deadline:
        return f"{words} There is no deadline."
    late = len(plan.slipping)
    if late:
        return f"{words} {late} of them would miss the deadline, {day_words(deadline)}."
    spare = sum(1 for day in plan.days if plan.finish < day.date <= deadline)
    return f"{words} {spare} working day{'s' if spare != 1 else ''} to spare."


def _saving_words(saved: Saving, plan: Plan) -> str:
    """What grouping by set-up saves against the order of the film."""
    if not plan.shots:
        return ""
    least = "at least " if saved.at_least else ""
    parts = [
        f"{abs(number)} {noun}{'s' if abs(number) != 1 else ''} {'fewer' if number > 0 else 'more'}"
        for number, noun in ((saved.setup_changes, "set-up change"), (saved.days, "day"))
        if number
    ]
    changes = f"{plan.setup_changes} set-up change{'s' if plan.setup_changes != 1 else ''}"
    best = plan.setup_changes == plan.fewest_changes
    end = ", and no order needs fewer" if best and plan.setup_changes else ""
    if not parts:
        return f"It needs {changes}{end}: as many, and as many days, as shooting in film order."
    return f"Against shooting in film order: {least}{' and '.join(parts)}. It needs {changes}{end}."


def _day_page(
    day: PlannedDay,
    dates: tuple[date, ...],
    now: Standing,
    slips: set[str],
    sheet: CallSheet | None,
) -> DayPage:
    place = dates.index(day.date)
    earlier = dates[place - 1] if place else None
    later = dates[place + 1] if place + 1 < len(dates) else None
    pinned = {shot.code: shot.pinned for shot in now.to_plan}
    pictures = pictures_on(day, now)
    blocks = []
    for code, works in groupby(day.work, key=lambda work: work.setup):
        works = list(works)
        shots = tuple(
            DayShot(
                shot=now.shots[work.shot],
                work=work,
                pictures=pictures[work.shot],
                pinned=pinned[work.shot],
                slips=work.shot in slips,
                earlier=earlier,
                later=later,
            )
            for work in works
            if work.shot
        )
        setup = shots[0].shot.setup if shots else _setup_named(code, now)
        building = sum(work.hours for work in works if not work.shot)
        blocks.append(Block(setup, building, shots, earlier, later))
    return DayPage(day, tuple(blocks), now.away.get(day.date, ()), sheet)


def _setup_named(code: str, now: Standing) -> Setup | None:
    return next((shot.setup for shot in now.shots.values() if setup_code(shot) == code), None)


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

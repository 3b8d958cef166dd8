"""What the paperwork tab and a call sheet show."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import groupby

from django.db.models import Count, Max, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from shots.documents.call_sheet import Called, DayPlan, SetupBlock, ToTake
from shots.models import (
    Absence,
    CallSheet,
    CallSheetPerson,
    CallSheetShot,
    PreShootCheck,
    Production,
    Session,
    Shot,
)
from shots.queries.call_sheet_proposal import day_pace, next_day, setup_key
from shots.queries.days_left import DaysLeft, days_left
from shots.queries.film import summary
from shots.queries.setups import Lock, lock_card
from shots.trade.call import (
    CAUTIONS,
    Hours,
    Rest,
    Targets,
    day_cautions,
    day_words,
    targets,
)
from shots.trade.lamps import load
from studio.models import Studio
from studio.queries import work_calendar
from studio.trade.calendar import iso_week
from studio.trade.timecode import seconds_and_frames

EXPOSURES = {1: "ones", 2: "twos", 3: "threes", 4: "fours"}


@dataclass(frozen=True)
class Paperwork:
    """Every PDF of one production."""

    production: Production
    sheets: tuple[CallSheet, ...]
    archived: tuple[CallSheet, ...]
    next_day: date


def paperwork(production: Production, studio: Studio, today: date) -> Paperwork:
    """The paperwork tab: call sheets, latest day first, with `called`, `planned` and `pictures`."""
    pictures = CallSheetShot.objects.filter(call_sheet=OuterRef("pk")).order_by()
    pictures = pictures.values("call_sheet").annotate(n=Sum("pictures")).values("n")
    rows = list(
        production.call_sheets.annotate(
            called=Count("people", distinct=True),
            planned=Count("shots", distinct=True),
            pictures=Coalesce(Subquery(pictures), 0),
        )
    )
    return Paperwork(
        production=production,
        sheets=tuple(row for row in rows if not row.archived_at),
        archived=tuple(row for row in rows if row.archived_at),
        next_day=next_day(production, studio, today),
    )


@dataclass(frozen=True)
class CallSheetPage:
    """One call sheet as it is read, and what to look at before it is handed out."""

    sheet: CallSheet
    plan: DayPlan
    warnings: tuple[str, ...]


def call_sheet(sheet: CallSheet, studio: Studio, today: date) -> CallSheetPage:
    """Everything on one call sheet, on the page and in the PDF."""
    production = sheet.production
    hours = Hours(sheet.day, sheet.call, sheet.wrap)
    people = list(sheet.people.select_related("person"))
    rows = _rows(sheet)
    blocks = _blocks(rows, production, studio)
    left = days_left([production], studio, today)[production.pk]
    goal = _targets(rows, left, hours)
    rest = rest_before(sheet, [one.call for one in people], studio)
    own = day_cautions(rest, hours, [block.code for block in blocks if block.is_over_load])
    stands = summary(production, left.shots)
    plan = DayPlan(
        production=production.title,
        code=production.code,
        studio=studio.name,
        date=day_words(sheet.day),
        week=iso_week(sheet.day),
        number=_day_number(sheet, left, today),
        call=f"{sheet.call:%H:%M}",
        wrap=f"{sheet.wrap:%H:%M}{' next day' if hours.past_midnight else ''}",
        people=tuple(
            Called(f"{one.call:%H:%M}", one.person.name, one.person.job, one.person.phone)
            for one in sorted(people, key=lambda one: hours.moment(one.call, studio.zone))
        ),
        place=production.place,
        directions=production.directions,
        emergency_care=production.emergency_care,
        setups=tuple(blocks),
        targets=goal.sentence,
        strip=stands.strip,
        standing=(
            f"{stands.kept} of {stands.budget} pictures kept, {stands.left} left. {left.sentence}"
        ),
        checks=tuple(PreShootCheck.objects.values_list("text", flat=True)),
        cautions=tuple((one.about, one.text) for one in (*own, *CAUTIONS)),
        notes=sheet.notes,
    )
    warnings = [one.text for one in own]
    if sheet.day >= today:
        warnings += _doubts(sheet, rows, people, goal, studio)
    return CallSheetPage(sheet, plan, tuple(warnings))


def _rows(sheet: CallSheet) -> list[tuple[Shot, int]]:
    """Shots with the pictures to take of each, in shooting order."""
    shots = Shot.objects.filter(pk__in=sheet.shots.values("shot")).with_counts()
    shots = shots.select_related("difficulty", "setup").prefetch_related("setup__lamps")
    found = {shot.pk: shot for shot in shots}
    return [(found[row.shot_id], row.pictures) for row in sheet.shots.all()]


def _targets(rows: list[tuple[Shot, int]], left: DaysLeft, hours: Hours) -> Targets:
    pace = day_pace(left.history)
    return targets(
        ((pictures, pace.of(shot)) for shot, pictures in rows),
        sum(pace.building(shot for shot, _ in rows).values()),
        hours.at_the_set,
        pace.measured,
    )


def rest_before(sheet: CallSheet, calls: Iterable[time], studio: Studio) -> Rest | None:
    """From the last end of work on an earlier day, planned or real, to the first call.

    None where no earlier day is known.
    """
    hours = Hours(sheet.day, sheet.call, sheet.wrap)
    zone = studio.zone
    before = sheet.production.call_sheets.current().filter(day__lt=sheet.day).first()
    sessions = Session.objects.finished().filter(production=sheet.production, day__lt=sheet.day)
    ends: list[datetime | None] = [sessions.aggregate(end=Max("ended_at"))["end"]]
    if before:
        ends.append(Hours(before.day, before.call, before.wrap).end(zone))
    known = [end for end in ends if end]
    if not known:
        return None
    first = min([hours.start(zone), *(hours.moment(call, zone) for call in calls)])
    return Rest(ended=max(known), call=first)


def _blocks(
    rows: list[tuple[Shot, int]], production: Production, studio: Studio
) -> list[SetupBlock]:
    """The shots in shooting order, those that follow each other in one set-up together."""
    blocks = []
    for _, group in groupby(rows, key=lambda row: row[0].setup_id):
        shots = list(group)
        setup = shots[0][0].setup
        to_take = tuple(
            ToTake(
                shot=shot.code,
                pictures=pictures,
                length=seconds_and_frames(shot.screen_frames, production.rate),
                exposure=EXPOSURES.get(shot.exposure, f"{shot.exposure} frames"),
                description=shot.description,
            )
            for shot, pictures in shots
        )
        if setup is None:
            blocks.append(SetupBlock(code="", name="", shots=to_take))
            continue
        lamps = setup.lamps.all()
        carried = load(setup.lamp_watts, studio.circuit_volts, studio.circuit_amps)
        blocks.append(
            SetupBlock(
                code=setup.code,
                name=setup.name,
                shots=to_take,
                locked=" · ".join(_spoken(lock) for lock in lock_card(setup) if lock.value),
                lamps=", ".join(str(lamp) for lamp in lamps),
                load=carried.sentence if lamps else "",
                is_over_load=carried.is_over,
            )
        )
    return blocks


def _spoken(lock: Lock) -> str:
    """A line of the lock card: its value says what it is by its unit, all but the focus mark."""
    return f"focus {lock.value}" if lock.label == "Focus" else lock.value


def _day_number(sheet: CallSheet, left: DaysLeft, today: date) -> str:
    """ "Day 11 of about 25": days shot or called before, and the forecast at even chance."""
    production = sheet.production
    shot = set(
        Session.objects.current()
        .filter(production=production, day__lt=sheet.day)
        .values_list("day", flat=True)
    )
    called = set(
        production.call_sheets.current()
        .filter(day__lt=sheet.day, day__gte=today)
        .values_list("day", flat=True)
    )
    number = len(shot | called) + 1
    so_far = {session.date for session in left.history.sessions}
    return f"Day {number} of about {max(number, len(so_far) + left.even)}"


def _not_all_day(sheet: CallSheet, people: list[CallSheetPerson]) -> list[str]:
    names = {one.person_id: one.person.name for one in people}
    rows = Absence.objects.filter(person__in=names, first__lte=sheet.day)
    return [
        f"{names[row.person_id]} is there for {row.hours_words} of that day."
        if row.hours
        else f"{names[row.person_id]} is away that day."
        for row in rows
        if any(row.days(sheet.day, sheet.day))
    ]


def _doubts(
    sheet: CallSheet,
    rows: list[tuple[Shot, int]],
    people: list[CallSheetPerson],
    goal: Targets,
    studio: Studio,
) -> list[str]:
    """What may be a slip in a sheet still to come."""
    said = []
    production = sheet.production
    if not work_calendar(studio, sheet.day, years=1).is_working(sheet.day):
        said.append(f"{day_words(sheet.day)} is not a working day in the studio’s calendar.")
    if production.deadline and sheet.day > production.deadline:
        said.append(f"The day is after the shooting deadline, {day_words(production.deadline)}.")
    if not rows:
        said.append("No shots are chosen: the sheet says so.")
    if not people:
        said.append("Nobody is called yet.")
    said += _not_all_day(sheet, people)
    if not production.emergency_care:
        said.append("The nearest emergency care is not written down: add it to the production.")
    said += [
        f"Shot {shot.code}: {pictures} pictures to take, {shot.pictures_left} left in its budget."
        for shot, pictures in rows
        if pictures > shot.pictures_left
    ]
    setups = [key for key, _ in groupby(setup_key(shot) for shot, _ in rows)]
    if len(setups) > len(set(setups)):
        said.append("A set-up is left and built again the same day: each change costs set-up time.")
    if goal.is_too_much:
        said.append(goal.sentence)
    return said

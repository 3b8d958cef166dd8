"""A production's calendar as all-day events: shooting, milestones, days off, the deadline."""

from collections.abc import Mapping
from contextlib import suppress
from datetime import date

from shots.models import Absence, Production, Session
from shots.queries.plan import standing
from shots.trade.plan import Plan
from studio.models import Studio
from studio.queries import days_off
from studio.trade.ical import DayEvent


def calendar_events(production: Production, studio: Studio, today: date) -> list[DayEvent]:
    """Days shot and planned, when each set-up is done, the last shot and the deadline; and up to
    then the studio's days off, public holidays, and who is away or there for a short day.

    Whoever has a link reads this, so why somebody is away is not said.
    """
    events = [
        _event(production, f"shot-{day}", day, f"{production.code}: shot")
        for day in Session.objects.current()
        .filter(production=production)
        .order_by("day")
        .values_list("day", flat=True)
        .distinct()
    ]
    if production.start:
        events.append(
            _event(production, "start", production.start, f"{production.code}: first shooting day")
        )
    now = standing(production, studio, today)
    until = [production.deadline or today]
    with suppress(ValueError):  # shots that wait for each other have no plan; the tab says so
        plan = now.made()
        events += _planned(production, plan)
        until.append(plan.finish or today)
    events += _days_off(production, studio, today, max(until))
    events += _absences(production, now.names, today, max(until))
    if production.deadline:
        events.append(
            _event(production, "deadline", production.deadline, f"{production.code}: DEADLINE")
        )
    return events


def _days_off(production: Production, studio: Studio, first: date, last: date) -> list[DayEvent]:
    labels: dict[date, list[str]] = {}
    for off in days_off(studio, first, last):
        labels.setdefault(off.day, []).append(off.label)
    return [
        _event(production, f"off-{day}", day, f"{production.code}: off, {', '.join(why)}")
        for day, why in labels.items()
    ]


def _absences(
    production: Production, names: Mapping[int, str], first: date, last: date
) -> list[DayEvent]:
    events = []
    for row in Absence.objects.filter(person__in=names):
        words = f"there for {row.hours_words}" if row.hours else "away"
        events += [
            _event(
                production,
                f"absence-{row.pk}-{day}",
                day,
                f"{production.code}: {names[row.person_id]} is {words}",
            )
            for day in row.days(first, last)
        ]
    return events


def _planned(production: Production, plan: Plan) -> list[DayEvent]:
    code = production.code
    events = [
        DayEvent(
            uid=_uid(production, f"planned-{day.date}"),
            first=day.date,
            last=day.date,
            summary=f"{code}: shooting {', '.join(day.shots)}" if day.shots else f"{code}: set-up",
            description=f"{day.filled:.1f} of {day.hours:g} h, as planned today.",
        )
        for day in plan.days
        if day.work
    ]
    ends: dict[str, date] = {}
    for shot in plan.shots:
        ends[shot.setup] = max(shot.last, ends.get(shot.setup, shot.last))
    events += [
        _event(production, f"setup-{setup}", day, f"{code}: set-up {setup} is done")
        for setup, day in ends.items()
        if setup
    ]
    if plan.finish and not plan.left_out:
        events.append(_event(production, "last", plan.finish, f"{code}: last shot"))
    return events


def _event(production: Production, name: str, day: date, summary: str) -> DayEvent:
    """Something to know of that blocks nobody's day."""
    return DayEvent(_uid(production, name), day, day, summary, production.title, busy=False)


def _uid(production: Production, name: str) -> str:
    return f"{name}-{production.pk}@stillcount"

"""A production's calendar: shooting days, milestones and the deadline, as all-day events."""

from contextlib import suppress
from datetime import date

from shots.models import Production, Session
from shots.queries.plan import standing
from shots.trade.plan import Plan
from studio.models import Studio
from studio.trade.ical import DayEvent


def calendar_events(production: Production, studio: Studio, today: date) -> list[DayEvent]:
    """Days shot, days planned, when each set-up is done, the last shot and the deadline."""
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
    with suppress(ValueError):  # shots that wait for each other have no plan; the tab says so
        events += _planned(production, now.made())
    if production.deadline:
        events.append(
            _event(production, "deadline", production.deadline, f"{production.code}: DEADLINE")
        )
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

"""The plan tab: the plan as it stands now, laid out day by day."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from shots.models import CallSheet, PlanStep, Production, Setup, Shot
from shots.queries.plan import Standing, pictures_on, setup_code, standing
from shots.trade.call import day_words
from shots.trade.plan import (
    Moved,
    Plan,
    PlannedDay,
    PlannedShot,
    Saving,
    Work,
    moved,
    saving,
)
from studio.models import Studio

STEPS_SHOWN = 10


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
    short: tuple[tuple[str, float], ...]  # who is there for some hours only
    call_sheet: CallSheet | None

    @property
    def filled_share(self) -> float:
        return min(self.planned.filled / self.planned.hours, 1.0) if self.planned.hours else 0.0

    @property
    def short_words(self) -> str:
        return ", ".join(f"{name} {hours:g} h" for name, hours in self.short)

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
            production, "", "", (), (), (), steps, compared, (), empty, circle=str(error)
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


def _sentence(plan: Plan, now: Standing) -> str:
    count = len(now.to_plan)
    if not count and not now.production.shots.in_film().exists():
        return "The film has no shots yet: add them, or take in an edit, and the plan is made."
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
    return DayPage(day, tuple(blocks), now.away(day.date), now.short(day.date), sheet)


def _setup_named(code: str, now: Standing) -> Setup | None:
    return next((shot.setup for shot in now.shots.values() if setup_code(shot) == code), None)

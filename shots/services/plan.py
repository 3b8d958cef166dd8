"""What a person does to the plan: pin, move, wish, undo. Each act keeps what stood before it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from shots.models import Absence, PlanStep, Production, Setup, Shot, Wish
from shots.queries.plan import Standing, days_of, setup_code, standing
from shots.trade.call import day_words
from shots.trade.plan import ShotToPlan, find_cycle, following_days
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Person, Studio

DATES = ("pinned", "earliest", "latest")
LISTS = ("after", "people")
SHARED = ("earliest", "latest", "priority", "people")  # wishes a whole set-up may have alike


@dataclass(frozen=True)
class Hand:
    """Whose hand changes the plan, where and when."""

    studio: Studio
    by: Person
    now: datetime

    @property
    def today(self) -> date:
        return self.studio.today(self.now)


@transaction.atomic
def pin_shot(shot: Shot, day: date, hand: Hand) -> PlanStep:
    """Pin a shot to the day it starts; the rest flows round it. Raises NotPossible."""
    stands = _locked(shot.production, hand)
    _check_day(stands, day)
    return _step(
        stands, hand, f"{shot.code} was pinned to {day_words(day)}.", [shot], {"pinned": day}
    )


@transaction.atomic
def unpin_shot(shot: Shot, hand: Hand) -> PlanStep:
    """Let a pinned shot flow with the rest again."""
    stands = _locked(shot.production, hand)
    return _step(stands, hand, f"{shot.code} is no longer pinned.", [shot], {"pinned": None})


@transaction.atomic
def pin_setup(production: Production, setup: Setup | None, day: date, hand: Hand) -> PlanStep:
    """Move a whole set-up: its shots follow each other from that day on, in the order planned.

    Each is pinned to the day it starts on then. Raises NotPossible.
    """
    stands = _locked(production, hand)
    _check_day(stands, day)
    code = setup.code if setup else ""
    mine = [shot for shot in _in_order_planned(stands) if shot.setup == code]
    if not mine:
        raise NotPossible(f"Set-up {code} has no shot left to plan.")
    building = 0 if code == stands.standing else stands.setup_hours.get(code, 0.0)
    starts = following_days(mine, [there for there in stands.days if there.date >= day], building)
    name = f"Set-up {code}" if code else "What has no set-up"
    return _step_each(
        stands,
        hand,
        f"{name} was pinned to {day_words(day)}.",
        [stands.shots[shot.code] for shot in mine],
        lambda shot: {"pinned": starts[shot.code]},
    )


def _in_order_planned(stands: Standing) -> list[ShotToPlan]:
    """Shots left in the order of the plan, those without a place last; else in film order."""
    try:
        order = {shot.code: n for n, shot in enumerate(stands.made().shots)}
    except ValueError:  # shots in a circle have no plan
        order = {}
    return sorted(stands.to_plan, key=lambda shot: order.get(shot.code, len(order)))


@transaction.atomic
def keep_wishes(
    shot: Shot, read_version: int, fields: dict, whole_setup: bool, hand: Hand
) -> PlanStep:
    """Keep what the plan must respect of a shot.

    `whole_setup`: the dates, priority and people hold for every shot left of its set-up. Raises
    NotPossible for shots that would wait for each other in a circle, EditedMeanwhile where
    somebody saved since `read_version`.
    """
    stands = _locked(shot.production, hand)
    current = Wish.objects.filter(shot=shot).first()
    if (current.version if current else 0) != read_version:
        raise EditedMeanwhile(current or Wish(shot=shot, version=0))
    _refuse_circle(stands, shot, fields["after"])
    if fields["pinned"] and fields["pinned"] != (current.pinned if current else None):
        _check_day(stands, fields["pinned"])
    shots = [shot]
    if whole_setup:
        shots += [
            other
            for other in stands.shots.values()
            if other.pk != shot.pk and setup_code(other) == setup_code(shot)
        ]
    shared = {name: fields[name] for name in SHARED}
    return _step_each(
        stands,
        hand,
        f"The wishes of {shot.code}{' and its set-up' if whole_setup else ''} were changed.",
        shots,
        lambda one: fields if one.pk == shot.pk else shared,
    )


@transaction.atomic
def undo_step(step: PlanStep, hand: Hand) -> None:
    """Put the wishes back as they were before the last step. Raises NotPossible for an older."""
    production = Production.objects.select_for_update().get(pk=step.production_id)
    last = production.plan_steps.filter(undone_at=None).first()
    if last is None or last.pk != step.pk:
        raise NotPossible("The plan was changed since. Only the last change can be undone.")
    for pk, before in step.wishes.items():
        shot = Shot.objects.filter(pk=pk).first()
        if shot is None:
            continue
        if before is None:
            Wish.objects.filter(shot=shot).delete()
        else:
            _write(shot, _thawed(before))
    last.undone_at = hand.now
    last.save(update_fields=["undone_at"])


@transaction.atomic
def add_absence(fields: dict) -> Absence:
    """Write down when somebody is not there."""
    return Absence.objects.create(**fields)


@transaction.atomic
def remove_absence(absence: Absence) -> None:
    """Take an absence away again."""
    absence.delete()


def _locked(production: Production, hand: Hand) -> Standing:
    """What the plan is made from, while nobody else changes it."""
    production = Production.objects.select_for_update().get(pk=production.pk)
    return standing(production, hand.studio, hand.today)


def _check_day(stands: Standing, day: date) -> None:
    if day not in {there.date for there in stands.days}:
        first = stands.days[0].date if stands.days else None
        why = "is past" if first and day < first else "is not a working day of this plan"
        raise NotPossible(
            f"{day_words(day)} {why}. Choose one of the days the plan shows.", "pinned"
        )


def _refuse_circle(stands: Standing, shot: Shot, after: Iterable[Shot]) -> None:
    chain = {one.code: one.after for one in stands.to_plan}
    chain[shot.code] = tuple(other.code for other in after)
    circle = find_cycle(chain)
    if circle:
        raise NotPossible(
            f"These shots would wait for each other in a circle: {' after '.join(circle)}. "
            "Leave one of them out.",
            "after",
        )


def _step(stands: Standing, hand: Hand, act: str, shots: list[Shot], fields: dict) -> PlanStep:
    return _step_each(stands, hand, act, shots, lambda _: fields)


def _step_each(
    stands: Standing, hand: Hand, act: str, shots: list[Shot], fields: Callable[[Shot], dict]
) -> PlanStep:
    """Write these wishes, and keep what stood before."""
    try:
        days = days_of(stands.made())
    except ValueError:  # shots in a circle have no plan to compare with
        days = {}
    step = PlanStep.objects.create(
        production=stands.production,
        at=hand.now,
        by=hand.by,
        act=act,
        wishes={str(shot.pk): _frozen(shot) for shot in shots},
        days=days,
    )
    for shot in shots:
        _write(shot, fields(shot))
    return step


def _frozen(shot: Shot) -> dict | None:
    wish = Wish.objects.filter(shot=shot).first()
    if wish is None:
        return None
    days = {name: getattr(wish, name) for name in DATES}
    return {
        **{name: day.isoformat() if day else None for name, day in days.items()},
        "priority": wish.priority,
        **{name: sorted(getattr(wish, name).values_list("pk", flat=True)) for name in LISTS},
    }


def _thawed(before: dict) -> dict:
    """What `_frozen` kept, as fields; shots and people gone for good are left out."""
    dates = {name: date.fromisoformat(before[name]) if before[name] else None for name in DATES}
    return dates | {
        "priority": before["priority"],
        "after": Shot.objects.filter(pk__in=before["after"]),
        "people": Person.objects.filter(pk__in=before["people"]),
    }


def _write(shot: Shot, fields: dict) -> None:
    wish, made = Wish.objects.get_or_create(shot=shot)
    for name, value in fields.items():
        if name in LISTS:
            getattr(wish, name).set(value)
        else:
            setattr(wish, name, value)
    if not made:
        wish.version += 1
    wish.save()

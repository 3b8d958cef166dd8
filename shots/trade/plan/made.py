"""The plan as people read it: days with their work, what slips, and what is worth saying."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from shots.trade.plan.asked import ShotToPlan, WorkingDay, check
from shots.trade.plan.pieces import Piece, building, shooting
from shots.trade.plan.problem import Problem
from shots.trade.plan.search import Branch, Placed, search


@dataclass(frozen=True)
class Work:
    """Hours of one day, in the order of the day. No `shot`: the set-up is changed."""

    setup: str
    shot: str | None
    hours: float
    part: int = 1
    parts: int = 1


@dataclass(frozen=True)
class PlannedDay:
    """One working day of the plan; `late` when it lies after the deadline.

    It may be filled over its hours by a few minutes, where that leaves no scrap for another day.
    """

    date: date
    hours: float
    work: tuple[Work, ...]
    late: bool

    @property
    def filled(self) -> float:
        return sum(work.hours for work in self.work)

    @property
    def shots(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(work.shot for work in self.work if work.shot))


@dataclass(frozen=True)
class PlannedShot:
    """The days a shot is begun and finished on; `slips` when that is after the deadline."""

    code: str
    setup: str
    first: date
    last: date
    slips: bool


@dataclass(frozen=True)
class Plan:
    """All working days given, in order, with what is shot on them.

    `setup_changes` counts every time a set-up is built; no plan could need fewer than
    `fewest_changes`. `left_out` pairs each shot that found no place with the reason.
    """

    days: tuple[PlannedDay, ...]
    shots: tuple[PlannedShot, ...]
    left_out: tuple[tuple[str, str], ...]
    setup_changes: int
    fewest_changes: int
    notes: tuple[str, ...]

    @property
    def days_used(self) -> int:
        return sum(1 for day in self.days if day.work)

    @property
    def finish(self) -> date | None:
        return max((shot.last for shot in self.shots), default=None)

    @property
    def slipping(self) -> tuple[str, ...]:
        """Shots that would not make the deadline, those without any place among them."""
        return tuple(shot.code for shot in self.shots if shot.slips) + tuple(
            code for code, _ in self.left_out
        )


def make_plan(
    shots: Sequence[ShotToPlan],
    days: Sequence[WorkingDay],
    *,
    setup_hours: Mapping[str, float] | None = None,
    standing: str | None = None,
    deadline: date | None = None,
) -> Plan:
    """Put the shots left (in film order) on the working days, with the fewest set-up changes.

    `setup_hours` is what building each set-up costs (0 if not named), `standing` the set-up that
    stands already. Raises `ValueError` for shots waiting in a circle and for impossible hours.
    """
    return _planned(shots, days, setup_hours or {}, standing, deadline, film_order=False)


def film_order_plan(
    shots: Sequence[ShotToPlan],
    days: Sequence[WorkingDay],
    *,
    setup_hours: Mapping[str, float] | None = None,
    standing: str | None = None,
    deadline: date | None = None,
) -> Plan:
    """The same shots in the order of the film: always the first that may be shot."""
    return _planned(shots, days, setup_hours or {}, standing, deadline, film_order=True)


def _planned(shots, days, setup_hours, standing, deadline, film_order) -> Plan:
    check(shots, days)
    problem = Problem(shots, days, setup_hours, standing, deadline, film_order)
    branch = search(problem)
    laid = [
        (problem.shots[place.shot], building(problem, place), shooting(problem, place))
        for place in _in_order(branch)
    ]
    planned = tuple(_planned_shot(problem, shot, pieces) for shot, _, pieces in laid)
    left_out = tuple(
        (shot.code, _reason(problem, branch, index))
        for index, shot in enumerate(problem.shots)
        if not branch.done >> index & 1
    )
    return Plan(
        days=_planned_days(problem, laid),
        shots=planned,
        left_out=left_out,
        setup_changes=branch.changes,
        fewest_changes=len(problem.setups) - (problem.standing >= 0),
        notes=_notes(problem, planned, deadline),
    )


def _in_order(branch: Branch) -> list[Placed]:
    placed = []
    last = branch.last
    while last:
        placed.append(last)
        last = last.before
    return placed[::-1]


def _planned_shot(problem: Problem, shot: ShotToPlan, pieces: list[Piece]) -> PlannedShot:
    return PlannedShot(
        code=shot.code,
        setup=shot.setup,
        first=problem.dates[pieces[0].day],
        last=problem.dates[pieces[-1].day],
        slips=_is_late(problem, pieces[-1].day),
    )


def _is_late(problem: Problem, day: int) -> bool:
    return problem.minute_after(day - 1) >= problem.deadline


def _planned_days(
    problem: Problem, laid: list[tuple[ShotToPlan, list[Piece], list[Piece]]]
) -> tuple[PlannedDay, ...]:
    hours: dict[int, float] = {}
    for stretch, day in zip(problem.days, problem.opens, strict=True):
        hours[day] = hours.get(day, 0.0) + stretch.hours
    work: dict[int, list[Work]] = {day: [] for day in hours}
    for shot, built, shooting_days in laid:
        for piece in built:
            work[piece.day].append(Work(shot.setup, None, piece.minutes / 60))
        parts = len(shooting_days)
        for part, piece in enumerate(shooting_days, start=1):
            work[piece.day].append(Work(shot.setup, shot.code, piece.minutes / 60, part, parts))
    return tuple(
        PlannedDay(problem.dates[day], hours[day], tuple(work[day]), _is_late(problem, day))
        for day in hours
    )


def _reason(problem: Problem, branch: Branch, index: int) -> str:
    shot = problem.shots[index]
    if not problem.days:
        return "there is no working day to put it on"
    waiting = [
        code
        for code in shot.after
        if code in problem.number and not branch.done >> problem.number[code] & 1
    ]
    if waiting:
        return f"it comes after {', '.join(waiting)}, which found no place either"
    if not any(allowed >> index & 1 for allowed in problem.work_ok):
        return f"{_names(shot.people)} cannot be there on any working day"
    if not any(allowed >> index & 1 for allowed in problem.start_ok):
        return f"it may only start after the last working day, {_day(problem.dates[-1])}"
    return f"there is no room for it on the working days to {_day(problem.dates[-1])}"


def _notes(
    problem: Problem, planned: tuple[PlannedShot, ...], deadline: date | None
) -> tuple[str, ...]:
    notes = []
    if deadline and not any(day.date <= deadline and day.hours > 0 for day in problem.days):
        notes.append(f"There is no working day left up to the deadline, {_day(deadline)}.")
    for place in planned:
        shot = problem.shots[problem.number[place.code]]
        if place.first != place.last and shot.hours > _longest_day(problem, shot):
            day = f"a day of {_names(shot.people)}" if shot.people else "a day"
            notes.append(
                f"{shot.code} takes {shot.hours:.1f} h, longer than {day}: it is split from "
                f"{_day(place.first)} to {_day(place.last)}."
            )
        if shot.pinned and place.first != shot.pinned:
            notes.append(_missed_pin(problem, shot, place))
        if shot.latest and place.last > shot.latest:
            notes.append(
                f"{shot.code} must be shot by {_day(shot.latest)}, but ends {_day(place.last)}."
            )
    return tuple(notes)


def _longest_day(problem: Problem, shot: ShotToPlan) -> float:
    """Hours of the longest day on which everybody the shot needs is there."""
    there: dict[int, float] = {}
    for stretch, opens, allowed in zip(problem.days, problem.opens, problem.work_ok, strict=True):
        if allowed >> problem.number[shot.code] & 1:
            there[opens] = there.get(opens, 0.0) + stretch.hours
    return max(there.values(), default=0.0)


def _missed_pin(problem: Problem, shot: ShotToPlan, place: PlannedShot) -> str:
    day = bisect_left(problem.dates, shot.pinned)
    if day == len(problem.dates) or problem.dates[day] != shot.pinned:
        why = "that is not a working day"
    elif not problem.work_ok[day] >> problem.number[shot.code] & 1:
        why = f"{_names(shot.people)} cannot be there"
    elif shot.earliest and shot.earliest > shot.pinned:
        why = f"it may not be shot before {_day(shot.earliest)}"
    else:
        why = "what comes before it, or is pinned with it, fills that day"
    return (
        f"{shot.code} is pinned to {_day(shot.pinned)}, but {why}: it starts {_day(place.first)}."
    )


def _names(people: frozenset[str]) -> str:
    return " and ".join(sorted(people))


def _day(date: date) -> str:
    return f"{date.day} {date:%B %Y}"

"""The plan as people read it: days with their work, what slips, and what is worth saying."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from shots.trade.plan.asked import ShotToPlan, WorkingDay, check
from shots.trade.plan.problem import Problem
from shots.trade.plan.search import Branch, Placed, search


@dataclass(frozen=True)
class Work:
    """A stretch of one day, in hours from the day's start. No `shot`: the set-up is changed."""

    setup: str
    shot: str | None
    starts: float
    hours: float
    part: int = 1
    parts: int = 1


@dataclass(frozen=True)
class PlannedDay:
    """One working day of the plan; `late` when it lies after the deadline."""

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
    placed = _in_order(branch)
    planned = tuple(_planned_shot(problem, place) for place in placed)
    left_out = tuple(
        (shot.code, _reason(problem, branch, index))
        for index, shot in enumerate(problem.shots)
        if not branch.done >> index & 1
    )
    return Plan(
        days=_planned_days(problem, placed),
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


def _planned_shot(problem: Problem, place: Placed) -> PlannedShot:
    shot = problem.shots[place.shot]
    return PlannedShot(
        code=shot.code,
        setup=shot.setup,
        first=problem.dates[bisect_right(problem.ends, place.start)],
        last=problem.dates[_closing_day(problem, place)],
        slips=place.end > problem.deadline,
    )


def _closing_day(problem: Problem, place: Placed) -> int:
    first = bisect_right(problem.ends, place.start)
    return max(first, bisect_left(problem.ends, place.end))


def _planned_days(problem: Problem, placed: list[Placed]) -> tuple[PlannedDay, ...]:
    work: list[list[Work]] = [[] for _ in problem.days]
    for place in placed:
        shot = problem.shots[place.shot]
        for day, begins, lasts in _stretches(problem, place.build_from, place.start, None):
            work[day].append(Work(shot.setup, None, begins / 60, lasts / 60))
        stretches = _stretches(problem, place.start, place.end, place.shot)
        for part, (day, begins, lasts) in enumerate(stretches, start=1):
            work[day].append(
                Work(shot.setup, shot.code, begins / 60, lasts / 60, part, len(stretches))
            )
    return tuple(
        PlannedDay(day.date, day.hours, tuple(work[index]), problem.ends[index] > problem.deadline)
        for index, day in enumerate(problem.days)
    )


def _stretches(problem: Problem, start: int, end: int, shot: int | None):
    """(day, minute of that day, minutes) of the work between two minutes, absences left out."""
    stretches = []
    minute = start
    day = bisect_right(problem.ends, minute)
    if shot is not None and start == end:
        return [(day, minute - problem.minute_after(day - 1), 0)]
    while minute < end:
        until = min(end, problem.ends[day])
        there = shot is None or problem.work_ok[day] >> shot & 1
        if there and until > minute:
            stretches.append((day, minute - problem.minute_after(day - 1), until - minute))
        minute = until
        day += 1
    return stretches


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
    longest = max((day.hours for day in problem.days), default=0)
    for place in planned:
        shot = problem.shots[problem.number[place.code]]
        if shot.hours > longest:
            notes.append(
                f"{shot.code} takes {shot.hours:.1f} h, longer than a day: it is split from "
                f"{_day(place.first)} to {_day(place.last)}."
            )
        if shot.pinned and place.first != shot.pinned:
            notes.append(_missed_pin(problem, shot, place))
        if shot.latest and place.last > shot.latest:
            notes.append(
                f"{shot.code} must be shot by {_day(shot.latest)}, but ends {_day(place.last)}."
            )
    return tuple(notes)


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

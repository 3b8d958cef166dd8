"""Finds the order: a walk through the working hours that branches only when the set-up changes.

At each moment the camera stays in its set-up while a shot there may be shot; only when none may,
every other set-up is a branch. Shooting on before moving never costs a set-up change, so where
nothing depends on a date or a person, trying all branches finds the fewest. The best branches are
kept at each change: all of them in a small film, a handful in a large one.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain

from shots.trade.plan.problem import Problem, bits, each

MOST_BRANCHES = 2_000  # kept at a change of set-up in a small film
EFFORT = 1_600  # shots times branches kept in a larger one; each date to keep weighs 8 shots


@dataclass(frozen=True, slots=True)
class Placed:
    """A shot's place: its set-up built from `build_from` on, work from `start` until `end`."""

    shot: int
    build_from: int
    start: int
    end: int
    before: "Placed | None"


@dataclass(frozen=True, slots=True)
class Branch:
    """The film shot as far as minute `now`."""

    now: int
    setup: int
    done: int
    ready: int  # shots that wait for nothing any more
    setups_left: int
    changes: int
    broken: int  # pins and latest dates missed
    late: int  # weight of shots past the deadline
    cost: int  # minutes until finished, times priority
    weight_left: int
    last: Placed | None


def search(problem: Problem) -> Branch:
    """The best branch found, walked until nothing more can be shot."""
    everything = bits(range(len(problem.shots)))
    start = Branch(
        now=0,
        setup=problem.standing,
        done=0,
        ready=bits(i for i in each(everything) if not problem.waits_for[i]),
        setups_left=bits(range(len(problem.setups))),
        changes=0,
        broken=0,
        late=0,
        cost=0,
        weight_left=sum(problem.weight),
        last=None,
    )
    width = max(3, EFFORT // (1 + len(problem.shots) + 8 * len(problem.limits)))
    if len(problem.shots) <= 12:
        width = MOST_BRANCHES
    finished: list[Branch] = []
    branches = [start]
    while branches:
        grown: dict[tuple[int, int, int], Branch] = {}
        for branch in branches:
            walked, choices = _walk(problem, branch)
            if not choices:
                finished.append(walked)
                continue
            for placed in choices:
                after = _shoot(problem, walked, placed)
                key = (after.done, after.setup, after.now)
                if key not in grown or _rank(after) < _rank(grown[key]):
                    grown[key] = after
        branches = sorted(grown.values(), key=_rank)[:width]
    return min(
        finished, key=lambda b: (-b.done.bit_count(), b.broken, b.late, b.changes, b.now, b.cost)
    )


def _rank(branch: Branch) -> tuple[int, ...]:
    """Never more than what the finished branch will score, so that good starts are kept."""
    left = (branch.setups_left & ~(1 << branch.setup if branch.setup >= 0 else 0)).bit_count()
    return (
        branch.broken,
        branch.late,
        branch.changes + left,
        branch.cost + branch.weight_left * branch.now,
        branch.now,
    )


def _walk(problem: Problem, branch: Branch) -> tuple[Branch, list[Placed]]:
    """Shoot on while there is one thing to do; stop where the set-up must be chosen."""
    while True:
        choices = _choices(problem, branch)
        if len(choices) != 1:
            return branch, choices
        branch = _shoot(problem, branch, choices[0])


def _choices(problem: Problem, branch: Branch) -> list[Placed]:
    """The next shot in this set-up, else the first in each of the others.

    Where nothing may start yet it looks at the next day, until the days run out. What still finds
    no start has its set-up built now, to start on a later day.
    """
    day = bisect_right(problem.ends, branch.now)
    now = branch.now
    while day < len(problem.days):
        able = branch.ready & ~branch.done & problem.start_ok[day]
        first = able & problem.pinned_by[day] or able & _overdue(problem, branch, now)
        leaving = problem.leaving[day]
        choices = _first_in_each(problem, branch, first, leaving, now, free=True)
        if not choices:
            choices = _first_in_each(problem, branch, able, leaving, now, free=False)
        if choices:
            return choices
        now = problem.ends[day]
        day += 1
    return _first_after_building(problem, branch)


def _first_after_building(problem: Problem, branch: Branch) -> list[Placed]:
    """Shots of those who leave before both building and shooting fit: the first in each set-up."""
    able = branch.ready & ~branch.done
    firsts = (
        (_placed_later(problem, branch, shot) for shot in each(able & members))
        for members in problem.members
    )
    found = (next(filter(None, shots), None) for shots in firsts)
    return [placed for placed in found if placed]


def _placed_later(problem: Problem, branch: Branch, shot: int) -> Placed | None:
    place = problem.setup[shot]
    building = 0 if place == branch.setup else problem.build[place]
    for start in problem.ends[bisect_right(problem.ends, branch.now + building) :]:
        end = _end(problem, shot, start)
        if end is not None:
            return Placed(shot, branch.now if building else start, start, end, branch.last)
    return None


def _first_in_each(
    problem: Problem, branch: Branch, able: int, leaving: int, now: int, free: bool
) -> list[Placed]:
    """The first shot of `able` that may start: in this set-up if any may, else in each other.

    Shots in `leaving` go before the others of their set-up.
    """
    if problem.film_order:
        first = _first(problem, branch, each(able), now, free)
        return [first] if first else []

    def first_of(mine: int) -> Placed | None:
        return _first(
            problem, branch, chain(each(mine & leaving), each(mine & ~leaving)), now, free
        )

    here = problem.members[branch.setup] if branch.setup >= 0 else 0
    stays = first_of(able & here)
    if stays:
        return [stays]
    elsewhere = (able & members for members in problem.members if able & members & ~here)
    return [placed for placed in map(first_of, elsewhere) if placed]


def _first(
    problem: Problem, branch: Branch, shots: Iterable[int], now: int, free: bool
) -> Placed | None:
    return next(filter(None, (_place(problem, branch, one, now, free) for one in shots)), None)


def _place(problem: Problem, branch: Branch, shot: int, now: int, free: bool) -> Placed | None:
    """Where the shot would go from minute `now`, or None if it may not start then.

    `free` skips the guards that keep hours for pins and latest dates.
    """
    place = problem.setup[shot]
    start = now + (0 if place == branch.setup else problem.build[place])
    end = _end(problem, shot, start)
    if end is None or not (free or _keeps_dates(problem, branch, shot, now, end)):
        return None
    return Placed(shot, now, start, end, branch.last)


def _end(problem: Problem, shot: int, start: int) -> int | None:
    """The minute the shot ends if it starts at `start`, or None if it may not."""
    ends, work_ok = problem.ends, problem.work_ok
    day = bisect_right(ends, start)
    if day >= len(ends) or not problem.start_ok[day] >> shot & 1:
        return None
    left, minute, waited = problem.minutes[shot], start, False
    while True:
        if not work_ok[day] >> shot & 1:
            waited = True
        else:
            room = ends[day] - minute
            if left <= room:
                break
            left -= room
        minute = ends[day]
        day += 1
        if day == len(ends):
            return None
    return None if waited and start <= problem.unbroken_until[shot] else minute + left


def _overdue(problem: Problem, branch: Branch, now: int) -> int:
    """Shots that miss their latest date even if nothing else is shot before them."""
    for limit in reversed(problem.limits):
        left = limit.shots & ~branch.done
        if left and now + problem.work_in(left, branch.setup) > limit.due:
            return left
    return 0


def _keeps_dates(problem: Problem, branch: Branch, shot: int, now: int, end: int) -> bool:
    """Whether ending at minute `end` leaves time for what is pinned or due before.

    What was missed before minute `now` holds nobody up.
    """
    for minute, pinned in problem.pin_limits:
        if now <= minute < end and pinned & ~branch.done:
            return False
    place = problem.setup[shot]
    for limit in problem.limits:
        if limit.due >= problem.due[shot]:
            break
        left = limit.shots & ~branch.done
        if (
            left
            and end + problem.work_in(left, place) > limit.due
            and now + problem.work_in(left, branch.setup) <= limit.due
        ):
            return False
    return True


def _shoot(problem: Problem, branch: Branch, placed: Placed) -> Branch:
    shot, end = placed.shot, placed.end
    place = problem.setup[shot]
    done = branch.done | 1 << shot
    ready = branch.ready
    for other in problem.frees[shot]:
        if not problem.waits_for[other] & ~done:
            ready |= 1 << other
    setups_left = branch.setups_left
    if not problem.members[place] & ~done:
        setups_left &= ~(1 << place)
    pin = problem.pin[shot]
    weight = problem.weight[shot]
    return Branch(
        now=end,
        setup=place,
        done=done,
        ready=ready,
        setups_left=setups_left,
        changes=branch.changes + (place != branch.setup),
        broken=branch.broken
        + (pin >= 0 and problem.opens[bisect_right(problem.ends, placed.start)] != pin)
        + (end > problem.due[shot]),
        late=branch.late + (1 + weight if end > problem.deadline else 0),
        cost=branch.cost + weight * end,
        weight_left=branch.weight_left - weight,
        last=placed,
    )

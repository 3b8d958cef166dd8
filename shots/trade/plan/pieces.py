"""Work cut at the ends of days: a piece for each day, and none too small to be worth a start."""

from bisect import bisect_right
from dataclasses import dataclass, replace

from shots.trade.plan.problem import Problem
from shots.trade.plan.search import Placed

SCRAP = 20  # minutes; a smaller piece is not worth checking lamps and set for


@dataclass(frozen=True)
class Piece:
    """`minutes` of work on one day, named by the first stretch of its date."""

    day: int
    minutes: int


def building(problem: Problem, placed: Placed) -> list[Piece]:
    """The days on which the set-up of a placed shot is built; none where it stands already."""
    if placed.build_from == placed.start:
        return []
    built = placed.build_from + problem.build[problem.setup[placed.shot]]
    return _without_scraps(_cut(problem, placed.build_from, min(built, placed.start), None))


def shooting(problem: Problem, placed: Placed) -> list[Piece]:
    """The days a placed shot is shot on, at least one.

    A scrap at the end of a day joins the work of the day after, unless the shot is pinned there; a
    scrap left for a last day stays with the day before. Such a day runs over by that little.
    """
    if placed.start == placed.end:
        return [Piece(problem.opens[bisect_right(problem.ends, placed.start)], 0)]
    pieces = _cut(problem, placed.start, placed.end, placed.shot)
    return _without_scraps(pieces, keeps_first=problem.pin[placed.shot] == pieces[0].day)


def _cut(problem: Problem, start: int, end: int, shot: int | None) -> list[Piece]:
    """The work between two minutes by day, the absences of whom the shot needs left out."""
    pieces: list[Piece] = []
    minute, stretch = start, bisect_right(problem.ends, start)
    while minute < end:
        until = min(end, problem.ends[stretch])
        there = shot is None or problem.work_ok[stretch] >> shot & 1
        if there and until > minute:
            day = problem.opens[stretch]
            before = pieces.pop().minutes if pieces and pieces[-1].day == day else 0
            pieces.append(Piece(day, before + until - minute))
        minute = until
        stretch += 1
    return pieces


def _without_scraps(pieces: list[Piece], keeps_first: bool = False) -> list[Piece]:
    if len(pieces) > 1 and pieces[-1].minutes < SCRAP:
        pieces = [*pieces[:-2], _joined(pieces[-2], pieces[-1])]
    if len(pieces) > 1 and pieces[0].minutes < SCRAP and not keeps_first:
        pieces = [_joined(pieces[1], pieces[0]), *pieces[2:]]
    return pieces


def _joined(piece: Piece, scrap: Piece) -> Piece:
    return replace(piece, minutes=piece.minutes + scrap.minutes)

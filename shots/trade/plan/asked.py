"""What a plan is made from: the shots left, the days there are, and what comes before what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise


@dataclass(frozen=True)
class ShotToPlan:
    """A shot left to shoot. `hours` at even chance, without changing set-up.

    `after` names shots that must be finished first; `people` those it cannot do without.
    `pinned` is the day it must start on; `earliest` and `latest` bound when it may be shot
    (a guest animator, a stage hire). A higher `priority` goes first where the choice is free.
    """

    code: str
    hours: float
    setup: str = ""
    after: tuple[str, ...] = ()
    people: frozenset[str] = frozenset()
    pinned: date | None = None
    earliest: date | None = None
    latest: date | None = None
    priority: int = 0


@dataclass(frozen=True)
class WorkingDay:
    """A day of shooting: its hours, and who is there (`None`: everyone).

    A day somebody leaves early is given as several, one after the other with the same date.
    """

    date: date
    hours: float
    people: frozenset[str] | None = None


def check(shots: Sequence[ShotToPlan], days: Sequence[WorkingDay]) -> None:
    """Raise `ValueError` with a sentence if the shots or the days cannot be planned."""
    codes = [shot.code for shot in shots]
    for code in codes:
        if codes.count(code) > 1:
            raise ValueError(f"Shot {code} is there {codes.count(code)} times; keep one of them.")
    for shot in shots:
        if not 0 <= shot.hours < 10_000:
            raise ValueError(
                f"Shot {shot.code} needs hours from 0 to 10,000 to be planned; got {shot.hours}."
            )
        if shot.priority < 0:
            raise ValueError(
                f"The priority of shot {shot.code} starts at 0 (no hurry); got {shot.priority}."
            )
        if shot.earliest and shot.latest and shot.earliest > shot.latest:
            raise ValueError(
                f"Shot {shot.code} may be shot from {shot.earliest} but only until "
                f"{shot.latest}: swap or clear one of the dates."
            )
    for before, after in pairwise(days):
        if before.date > after.date:
            raise ValueError(
                f"Working days must follow each other; {after.date} comes after {before.date}."
            )
    for day in days:
        if not 0 <= day.hours <= 24:
            raise ValueError(f"A day has from 0 to 24 hours; {day.date} was given {day.hours}.")
    cycle = find_cycle({shot.code: shot.after for shot in shots})
    if cycle:
        raise ValueError(
            "These shots wait for each other in a circle: "
            + ", ".join(f"{one} after {other}" for one, other in pairwise(cycle))
            + ". Remove one of these."
        )


def find_cycle(after: dict[str, tuple[str, ...]]) -> list[str]:
    """A chain of codes each waiting for the next that ends where it began, or an empty list.

    Codes that are nobody's key (shots finished already) wait for nothing.
    """
    finished: set[str] = set()
    for first in after:
        chain: list[str] = []
        waits = [iter([first])]
        while waits:
            code = next(waits[-1], None)
            if code is None:
                waits.pop()
                if chain:
                    finished.add(chain.pop())
            elif code in chain:
                return [*chain[chain.index(code) :], code]
            elif code not in finished:
                chain.append(code)
                waits.append(iter(after.get(code, ())))
    return []

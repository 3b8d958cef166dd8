"""The plan as whole minutes and bits, quick enough to try thousands of orders.

Shots are numbered in the order they are preferred, so the lowest bit of a set of shots is the
next to take. Time runs only through working hours: minute `ends[d]` closes stretch `d`, which is
a working day, or the part of one until somebody leaves.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate, pairwise

from shots.trade.plan.asked import ShotToPlan, WorkingDay

NEVER = 10**9


@dataclass(frozen=True)
class Limit:
    """Work in the set of bits `shots` must be finished by minute `due`."""

    due: int
    shots: int


class Problem:
    """The question in bits. `film_order` prefers shots as listed, else by priority first."""

    def __init__(
        self,
        shots: Sequence[ShotToPlan],
        days: Sequence[WorkingDay],
        setup_hours: Mapping[str, float],
        standing: str | None,
        deadline: date | None,
        film_order: bool = False,
    ):
        self.shots = list(shots) if film_order else sorted(shots, key=lambda shot: -shot.priority)
        self.days = list(days)
        self.film_order = film_order
        self.dates = [day.date for day in days]
        self.opens = [bisect_left(self.dates, day) for day in self.dates]  # first of the same date
        self.ends = list(accumulate(minutes(day.hours) for day in days))
        self.deadline = (
            NEVER if deadline is None else self.minute_after(bisect_right(self.dates, deadline) - 1)
        )

        number = {shot.code: index for index, shot in enumerate(self.shots)}
        self.number = number
        self.minutes = [minutes(shot.hours) for shot in self.shots]
        self.weight = [shot.priority for shot in self.shots]
        self.waits_for = [
            bits(number[code] for code in shot.after if code in number) for shot in self.shots
        ]
        self.frees: list[list[int]] = [[] for _ in self.shots]
        for index, shot in enumerate(self.shots):
            for code in set(shot.after) & number.keys():
                self.frees[number[code]].append(index)

        names = list(dict.fromkeys(shot.setup for shot in shots))
        self.setup = [names.index(shot.setup) for shot in self.shots]
        self.setups = names
        self.standing = names.index(standing) if standing in names else -1
        self.members = [
            bits(index for index, of in enumerate(self.setup) if of == place)
            for place in range(len(names))
        ]
        self.build = [minutes(setup_hours.get(name, 0.0)) for name in names]

        self._work_in: dict[int, tuple[int, set[int]]] = {}
        self._read_dates()

    def _read_dates(self) -> None:
        shots, days = self.shots, self.days
        first_day = [
            bisect_left(
                self.dates, max(filter(None, (shot.earliest, shot.pinned)), default=date.min)
            )
            for shot in shots
        ]
        self.pin = [bisect_left(self.dates, s.pinned) if s.pinned else -1 for s in shots]
        self.work_ok = [
            bits(i for i, s in enumerate(shots) if day.people is None or s.people <= day.people)
            for day in days
        ]
        # Shots that need somebody who is there now and leaves before the day ends.
        self.leaving = [
            allowed & ~later if self.opens[d] == self.opens[d + 1] else 0
            for d, (allowed, later) in enumerate(pairwise(self.work_ok))
        ] + [0]
        self.start_ok = [
            bits(i for i in range(len(shots)) if self.work_ok[d] >> i & 1 and first_day[i] <= d)
            for d in range(len(days))
        ]
        self.pinned_by = [
            bits(i for i in range(len(shots)) if 0 <= self.pin[i] <= d) for d in range(len(days))
        ]
        # Until this minute a shot does not start if it would have to wait for somebody halfway.
        self.unbroken_until = [self._last_unbroken_start(index) for index in range(len(shots))]
        self.due = self._due_minutes()
        self.limits = [
            Limit(due, bits(i for i, other in enumerate(self.due) if other <= due))
            for due in sorted(set(self.due) - {NEVER})
        ]
        self.pin_limits = self._pin_limits()

    def minute_after(self, day: int) -> int:
        """The minute that closes stretch `day`; 0 before the first."""
        return self.ends[day] if day >= 0 else 0

    def work_in(self, shots: int, standing: int) -> int:
        """Minutes for a set of shots with each of their set-ups built once, `standing` apart."""
        if shots not in self._work_in:
            places = {self.setup[index] for index in each(shots)}
            work = sum(self.minutes[index] for index in each(shots))
            self._work_in[shots] = (work + sum(self.build[place] for place in places), places)
        work, places = self._work_in[shots]
        return work - self.build[standing] if standing in places else work

    def _last_unbroken_start(self, index: int) -> int:
        """The last minute from which the shot can be worked through, or -1."""
        last, opened = -1, 0
        for day, allowed in enumerate(self.work_ok):
            if not allowed >> index & 1:
                opened = self.ends[day]
            elif self.ends[day] - opened >= self.minutes[index]:
                last = self.ends[day] - self.minutes[index]
        return last

    def _due_minutes(self) -> list[int]:
        """When each shot must be finished: its own latest date, or for those that wait for it."""
        due = [
            self.minute_after(bisect_right(self.dates, shot.latest) - 1) if shot.latest else NEVER
            for shot in self.shots
        ]
        for _ in self.shots:  # a chain is at most as long as there are shots
            settled = True
            for index, shot in enumerate(self.shots):
                start = due[index] - self.minutes[index] if due[index] < NEVER else NEVER
                if shot.pinned:
                    start = min(start, self.minute_after(self.pin[index] - 1))
                for other in range(len(due)):
                    if self.waits_for[index] >> other & 1 and due[other] > start:
                        due[other] = start
                        settled = False
            if settled:
                break
        return due

    def _pin_limits(self) -> list[tuple[int, int]]:
        """(minute, shots): other work must end by the minute while any of these is not shot."""
        limits = []
        for day in sorted({pin for pin in self.pin if 0 <= pin < len(self.days)}):
            pinned = [index for index, pin in enumerate(self.pin) if pin == day]
            closes = day  # as long as everybody they need is there
            while self.opens[closes + 1 : closes + 2] == [day] and not (
                bits(pinned) & ~self.work_ok[closes + 1]
            ):
                closes += 1
            latest = self.ends[closes] - self.work_in(bits(pinned), standing=-1)
            limits.append((max(self.minute_after(day - 1), latest), bits(pinned)))
        return limits


def minutes(hours: float) -> int:
    """Hours in whole minutes, halves up."""
    return int(hours * 60 + 0.5)


def bits(indexes) -> int:
    """A set of small whole numbers as one integer."""
    total = 0
    for index in indexes:
        total |= 1 << index
    return total


def each(mask: int):
    """The numbers in a set of bits, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low

"""File numbers and capture times: what is missing, and how the session went."""

import itertools
import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from .facts import Facts

NEW_ROLL = 200  # a larger gap in the numbers is another card, not pictures lost
BREAK_S = 600  # a longer pause is a break
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
# Names made of date and time of day count no pictures.
BY_THE_CLOCK = re.compile(r"(19|20)\d{6}\D?\d{6}")


def natural_key(name: str) -> list:
    """Sorts P2 before P10: runs of digits by their number, the rest as text."""
    parts = re.split(r"([0-9]+)", name.casefold())
    return [int(p) if n % 2 else p for n, p in enumerate(parts)]


def missing_numbers(names: Sequence[str]) -> list[int]:
    """Numbers skipped between pictures of the same beginning of name, such as IMG_0041.jpg."""
    rolls: dict[str, set[int]] = {}
    for name in names:
        stem = name.rpartition(".")[0] or name
        match = re.fullmatch(r"(.*?)([0-9]{1,12})([^0-9]*)", stem, re.DOTALL)
        if match and not BY_THE_CLOCK.search(stem):
            rolls.setdefault(match[1] + "#" + match[3], set()).add(int(match[2]))
    missing = set()
    for numbers in rolls.values():
        in_order = sorted(numbers)
        for before, after in itertools.pairwise(in_order):
            if after - before <= NEW_ROLL:
                missing.update(range(before + 1, after))
    return sorted(missing)


def gaps(facts: Sequence[Facts]) -> list[float | None]:
    """Seconds from the picture before to each picture; None where either has no time.

    A clock set back an hour (summer time) or a day (a date that did not turn at midnight) is put
    right; any other step back cannot be true and gives None. Where the camera writes its offset
    from UTC, that settles it.
    """
    found: list[float | None] = []
    usual = _usual_gap(facts)
    for n, after in enumerate(facts):
        step = _step(facts[n - 1], after) if n else None
        if step is not None and step < timedelta(0):
            close = timedelta(seconds=max(BREAK_S, 3 * usual))
            step = next((s for s in (step + HOUR, step + DAY) if timedelta(0) <= s < close), None)
        found.append(None if step is None else step.total_seconds())
    return found


def session(facts: Sequence[Facts]) -> dict | None:
    """Start, end, breaks, active seconds and pace, as the report prints them; None without times.

    Breaks are pauses over 10 minutes; active time is all the rest. A copied file was not taken
    again and counts once.
    """
    by_hash: dict[str, Facts] = {}
    for picture in facts:
        by_hash.setdefault(picture.sha256, picture)
    facts = list(by_hash.values())
    timed = [f for f in facts if f.taken]
    if not timed:
        return None
    steps = gaps(timed)
    breaks = [
        {"after": _iso(timed[n - 1].taken), "before": _iso(timed[n].taken), "seconds": round(s, 3)}
        for n, s in enumerate(steps)
        if s is not None and s > BREAK_S
    ]
    active = sum(s for s in steps if s is not None and s <= BREAK_S)
    return {
        "start": _iso(timed[0].taken),
        "end": _iso(timed[-1].taken),
        "gap_s": BREAK_S,
        "breaks": breaks,
        "active_s": round(active, 3),
        "pictures": len(facts),
        "per_hour": round(len(facts) * 3600 / active, 1) if active else None,
    }


def usual_gap(steps: Sequence[float | None]) -> float | None:
    """Median seconds between pictures, breaks left out."""
    working = sorted(s for s in steps if s is not None and s <= BREAK_S)
    return working[len(working) // 2] if working else None


def _usual_gap(facts: Sequence[Facts]) -> float:
    steps = [_step(a, b) for a, b in itertools.pairwise(facts)]
    return usual_gap([s.total_seconds() for s in steps if s and s > timedelta(0)]) or 0.0


def _step(before: Facts, after: Facts) -> timedelta | None:
    if before.taken is None or after.taken is None:
        return None
    step = after.taken - before.taken
    if before.utc_offset is not None and after.utc_offset is not None:
        step -= after.utc_offset - before.utc_offset
    return step


def _iso(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")

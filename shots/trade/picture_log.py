"""Capture times become sessions: where one begins, where it ends, and the breaks in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from shots.trade.session_times import MINUTE, whole_minute

BREAK = timedelta(minutes=10)  # a longer pause is a break, as the picture check counts it
# A longer pause ends the session (common practice, no source): lunch does not, a night does.
APART = timedelta(hours=4)


@dataclass(frozen=True)
class Span:
    """A time in which pictures were taken."""

    start: datetime
    end: datetime

    def holds(self, moment: datetime) -> bool:
        return self.start <= moment <= self.end


def runs(times: Sequence[datetime], taken_up: Sequence[Span] = ()) -> list[list[datetime]]:
    """Capture times in order, cut where more than four hours pass or where another session,
    `taken_up`, lies in between."""
    ordered = sorted(times)
    found = [ordered[:1]] if ordered else []
    for before, after in pairwise(ordered):
        between = any(before < span.end and span.start < after for span in taken_up)
        if after - before > APART or between:
            found.append([])
        found[-1].append(after)
    return found


def span(times: Sequence[datetime], after: datetime | None, before: datetime | None) -> Span:
    """From first picture to last in whole minutes, a minute at least.

    It stays clear of the sessions that end at `after` and start at `before`. (Where two cameras'
    pictures leave no minute free, the span is empty: the caller refuses it.)
    """
    start = whole_minute(min(times))
    end = whole_minute(max(times)) + MINUTE
    if after is not None:
        start = max(start, after)
    if before is not None:
        end = min(end, before)
    return Span(start, end)


def break_minutes(times: Sequence[datetime]) -> int:
    """Whole minutes of all pauses of more than ten minutes."""
    ordered = sorted(times)
    pauses = (after - before for before, after in pairwise(ordered))
    return int(sum((p for p in pauses if p > BREAK), timedelta()) / MINUTE)

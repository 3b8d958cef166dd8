"""Which backups are worth their room: many of the last days, few of the last year."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

DAYS, WEEKS, MONTHS = 7, 4, 12


def to_keep(made: Iterable[datetime], today: date) -> set[datetime]:
    """The moments of the backups to keep, of all those `made`.

    Everything of the last seven days (today is one of them), the newest of each of the last four
    weeks (Monday to Sunday) and the newest of each of the last twelve months, the present ones
    included. The newest of all is kept however old it is, and so is what claims to be of a day
    to come: that clock was wrong, and the backup may be good.
    """
    newest_first = sorted(made, reverse=True)
    first_day = today - timedelta(days=DAYS - 1)
    keep = {one for one in newest_first if one.date() >= first_day} | set(newest_first[:1])
    keep |= _newest_of_each(newest_first, _weeks(today), _monday)
    keep |= _newest_of_each(newest_first, _months(today), _month)
    return keep


def _newest_of_each(newest_first, spans, span_of) -> set[datetime]:
    found = {}
    for one in newest_first:
        if span_of(one.date()) in spans:
            found.setdefault(span_of(one.date()), one)
    return set(found.values())


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _weeks(today: date) -> set[date]:
    return {_monday(today) - timedelta(weeks=n) for n in range(WEEKS)}


def _month(day: date) -> int:
    """Months since year 0, so that a year's end is no special case."""
    return day.year * 12 + day.month


def _months(today: date) -> set[int]:
    return {_month(today) - n for n in range(MONTHS)}

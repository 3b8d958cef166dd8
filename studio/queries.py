"""Reads of the studio: its calendar, and the next of a row of numbers."""

from dataclasses import dataclass
from datetime import date, timedelta

import holidays
from django.db.models import Max, QuerySet

from studio.models import DayOff, Studio
from studio.trade.calendar import WorkCalendar


def next_number(numbered: QuerySet) -> int:
    """The number after the highest among these rows; gap-free while the caller holds their lock."""
    return (numbered.aggregate(last=Max("number"))["last"] or 0) + 1


@dataclass(frozen=True)
class NamedDay:
    """A day the studio does not shoot, and why."""

    day: date
    label: str


def public_holidays(country: str, region: str, first: date, last: date) -> list[NamedDay]:
    """Public holidays of a country (ISO 3166-1 code) and region, in order; none for no country."""
    if not country:
        return []
    years = range(first.year, last.year + 1)
    table = holidays.country_holidays(country, subdiv=region or None, years=years)
    return [NamedDay(day, name) for day, name in sorted(table.items()) if first <= day <= last]


def days_off(studio: Studio, first: date, last: date) -> list[NamedDay]:
    """Every day off between two dates, public holidays and the studio's own, in order."""
    own = [
        NamedDay(max(stretch.first, first) + timedelta(days=n), stretch.label or "Day off")
        for stretch in DayOff.objects.filter(last__gte=first, first__lte=last)
        for n in range((min(stretch.last, last) - max(stretch.first, first)).days + 1)
    ]
    public = public_holidays(studio.country, studio.region, first, last)
    return sorted(own + public, key=lambda named: (named.day, named.label))


def work_calendar(studio: Studio, first: date, years: int = 3) -> WorkCalendar:
    """The studio's working calendar from `first` on, for `years` years."""
    last = first + timedelta(days=366 * years)
    return WorkCalendar(
        working_weekdays=frozenset(studio.working_weekdays),
        days_off=frozenset(named.day for named in days_off(studio, first, last)),
        hours_per_day=float(studio.hours_per_day),
    )

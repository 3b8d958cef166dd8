"""The working calendar: which days are worked, how many lie between two dates, and ISO weeks."""

from dataclasses import dataclass
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)
LONGEST_SEARCH = timedelta(days=20 * 366)


class CalendarError(ValueError):
    """A calendar or a question to it that makes no sense; the message says how to mend it."""


@dataclass(frozen=True)
class WorkCalendar:
    """A working week, the days off in it, and the hours of a working day.

    Weekdays are numbered from Monday 0 to Sunday 6. Raises CalendarError for other numbers and
    for hours outside 0 to 24.
    """

    working_weekdays: frozenset[int]
    days_off: frozenset[date]
    hours_per_day: float

    def __post_init__(self) -> None:
        unknown = sorted(set(self.working_weekdays) - set(range(7)))
        if unknown:
            raise CalendarError(
                f"Weekdays run from 0 (Monday) to 6 (Sunday), got {unknown[0]}; use one of those."
            )
        if not 0 < self.hours_per_day <= 24:
            raise CalendarError(
                f"A working day has more than 0 and at most 24 hours, got {self.hours_per_day:g}; "
                "write hours such as 7.5."
            )

    def is_working(self, day: date) -> bool:
        """Whether work is planned on this day."""
        return day.weekday() in self.working_weekdays and day not in self.days_off

    def working_days(self, first: date, last: date) -> list[date]:
        """The working days from `first` to `last`, both included; none if they are the wrong way
        round."""
        span = range((last - first).days + 1)
        return [day for day in (first + n * ONE_DAY for n in span) if self.is_working(day)]

    def count(self, after: date, until: date) -> int:
        """Working days strictly after `after`, up to and including `until`; 0 if it is past."""
        span = (until - after).days
        if span <= 0:
            return 0
        weeks, extra = divmod(span, 7)
        days = weeks * len(self.working_weekdays)
        days += sum((after.weekday() + n) % 7 in self.working_weekdays for n in range(1, extra + 1))
        return days - sum(
            after < day <= until and day.weekday() in self.working_weekdays for day in self.days_off
        )

    def add(self, day: date, working_days: int) -> date:
        """The n-th working day strictly after `day`; for 0 it is `day` itself.

        Raises CalendarError for a negative number, where no weekday is worked, and where the
        answer lies more than 20 years ahead.
        """
        if working_days < 0:
            raise CalendarError(f"Working days are counted forwards, got {working_days}.")
        if working_days == 0:
            return day
        if not self.working_weekdays:
            raise CalendarError("No weekday is worked; mark at least one working weekday.")
        left = working_days
        for n in range(1, min(LONGEST_SEARCH, date.max - day).days + 1):
            later = day + n * ONE_DAY
            left -= self.is_working(later)
            if left == 0:
                return later
        raise CalendarError(
            f"{working_days} working days after {day.isoformat()} end more than 20 years ahead; "
            "shorten the work or free some days off."
        )


def iso_week(day: date) -> str:
    """The ISO 8601 week of a day, with the year that week belongs to: "2004-W53"."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"

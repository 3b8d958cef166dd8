"""When a session begins and ends. Moments are aware datetimes; lengths are counted in real time,
so a night in which the clocks change is as long as it was."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

LONGEST = timedelta(hours=24)
LONG = timedelta(hours=16)  # longer is worth a second look (common practice, no source)
MINUTE = timedelta(minutes=1)


class TimesError(ValueError):
    """Times that cannot be: `field` names the entry, `sentence` says how to mend it."""

    def __init__(self, field: str, sentence: str):
        super().__init__(sentence)
        self.field, self.sentence = field, sentence


def worked(started: datetime, ended: datetime, break_minutes: int) -> timedelta:
    """From start to end, set-up time included, breaks left out."""
    return ended - started - timedelta(minutes=break_minutes)


@dataclass(frozen=True)
class SessionTimes:
    """A finished session: its two moments, and the minutes of set-up and of breaks in it."""

    started: datetime
    ended: datetime
    setup_minutes: int = 0
    break_minutes: int = 0

    @property
    def length(self) -> timedelta:
        """From start to end in real time, breaks included."""
        return self.ended.astimezone(UTC) - self.started.astimezone(UTC)

    @property
    def is_long(self) -> bool:
        return self.length > LONG


def check_times(times: SessionTimes, now: datetime) -> None:
    """Raise TimesError unless the session can have happened by `now`."""
    if times.started > now + MINUTE:
        raise TimesError("start", "That start lies in the future. Enter what has been shot.")
    if times.length <= timedelta(0):
        raise TimesError(
            "ended",
            f"The session ends at {times.ended:%H:%M} on {times.ended:%d.%m.%Y}, not after its "
            f"start at {times.started:%H:%M} on {times.started:%d.%m.%Y}. Correct one of them.",
        )
    if times.length > LONGEST:
        raise TimesError(
            "ended",
            f"From start to end are {spoken(times.length)}, and a session is 24 h at most. "
            "Enter when it really ended, or enter two sessions.",
        )
    if times.ended > now + MINUTE:
        raise TimesError("ended", "That end lies in the future. Enter what has been shot.")
    _check_minutes(times)


def _check_minutes(times: SessionTimes) -> None:
    for field in ("setup_minutes", "break_minutes"):
        if getattr(times, field) < 0:
            raise TimesError(field, "Minutes are 0 or more.")
    spent = timedelta(minutes=times.setup_minutes + times.break_minutes)
    if spent > times.length:
        raise TimesError(
            "setup_minutes" if times.setup_minutes >= times.break_minutes else "break_minutes",
            f"Set-up and breaks together are {spoken(spent)}, longer than the session's "
            f"{spoken(times.length)}. Lower one, or correct the times.",
        )


def moments(day: date, start: time, end: time, zone: tzinfo) -> tuple[datetime, datetime]:
    """The two moments of a session that began on `day`, in local time.

    An end earlier than the start is on the next day. Equal times give equal moments, which
    `check_times` refuses.
    """
    end_day = day + timedelta(days=1) if end < start else day
    return (
        datetime.combine(day, start, tzinfo=zone),
        datetime.combine(end_day, end, tzinfo=zone),
    )


def whole_minute(moment: datetime) -> datetime:
    """The minute `moment` lies in."""
    return moment.replace(second=0, microsecond=0)


def spoken(length: timedelta) -> str:
    """A length as it is said: `45 min`, `7 h`, `2 h 05 min`."""
    hours, minutes = divmod(round(length / MINUTE), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes:02} min" if minutes else f"{hours} h"

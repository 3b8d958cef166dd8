"""The days of shooting of a production, read from its sessions and its shots."""

from dataclasses import dataclass
from datetime import date

from shots.trade.forecast.history import Production


@dataclass(frozen=True)
class ShootingDay:
    """All sessions of one date: hours, and kept pictures by difficulty (None: shot deleted)."""

    date: date
    hours: float
    setup_hours: float
    kept: dict[str | None, float]

    @property
    def shooting_hours(self) -> float:
        return max(self.hours - self.setup_hours, 0.0)

    @property
    def has_result(self) -> bool:
        return sum(self.kept.values()) > 0


def shooting_days(production: Production, until: date = date.max) -> list[ShootingDay]:
    """Sessions up to `until`, those of one date added up, in order of date."""
    difficulty = {shot.code: shot.difficulty for shot in production.shots}
    by_date: dict[date, ShootingDay] = {}
    for session in production.sessions:
        if session.date > until:
            continue
        day = by_date.get(session.date) or ShootingDay(session.date, 0.0, 0.0, {})
        kept = dict(day.kept)
        for output in session.output:
            name = difficulty.get(output.shot)
            kept[name] = kept.get(name, 0.0) + output.kept
        by_date[session.date] = ShootingDay(
            session.date, day.hours + session.hours, day.setup_hours + session.setup_hours, kept
        )
    return [by_date[day] for day in sorted(by_date)]


def last_output(production: Production, until: date) -> dict[str, date]:
    """The last date up to `until` on which each shot was shot, by its code."""
    last: dict[str, date] = {}
    for session in production.sessions:
        if session.date <= until:
            for output in session.output:
                last[output.shot] = max(last.get(output.shot, session.date), session.date)
    return last


def lost_days(production: Production, days: list[ShootingDay], until: date) -> tuple[float, float]:
    """Working days without a session since the first one, and all working days since then.

    Sessions on free days make up for lost ones: what counts is how many days a week gives.
    """
    used = [day for day in days if day.hours > 0 or day.has_result]
    if not used:
        return 0.0, 0.0
    elapsed = production.calendar.count(used[0].date, until) + 1
    return max(elapsed - len(used), 0.0), max(elapsed, len(used))


def empty_days(days: list[ShootingDay]) -> tuple[float, float]:
    """Shooting days without a kept picture, and all days with time to shoot, weighed by hours.

    A day spent on a set-up alone is neither.
    """
    hours = sum(day.shooting_hours for day in days)
    if hours == 0:
        return 0.0, 0.0
    count = sum(day.shooting_hours > 0 for day in days)
    without = sum(day.shooting_hours for day in days if not day.has_result)
    return count * without / hours, count


def hours_kept_to(production: Production, days: list[ShootingDay]) -> tuple[float, float]:
    """Sum over days of hours worked / hours planned, and the number of those days."""
    ratios = [day.hours / production.calendar.hours_per_day for day in days if day.hours > 0]
    return sum(ratios), len(ratios)

"""Backups as long work: the daily one, one that somebody asks for, a check of one that is kept."""

from datetime import date

from django.utils import timezone
from django.utils.timesince import timesince

from studio.backup.bag import BagRefused
from studio.backup.checking import check_backup
from studio.backup.kept import backup_now, daily_backup, daily_path, find_backup
from studio.errors import NotPossible
from studio.long_work import Report, begin, daily_duty, long_work, of_kind
from studio.models import LongWork, Person, Studio


@long_work
def make_daily_backup(report: Report, *, today: str) -> str:
    """The day's backup; nothing where it is there already."""
    written = daily_backup(date.fromisoformat(today), report.progress)
    return written.sentence if written else "It is there already."


@long_work
def make_backup(report: Report) -> str:
    """A backup because somebody pressed the button."""
    with timezone.override(Studio.objects.get().zone):
        return backup_now(timezone.now(), report.progress).sentence


@long_work
def check_again(report: Report, *, name: str) -> str:
    """Hold every sum of a kept backup against its contents."""
    kept = find_backup(name)
    if kept is None:
        raise NotPossible(f"{name} is not there any more.")
    try:
        found = check_backup(kept.path, report.progress)
    except (BagRefused, OSError) as error:
        raise NotPossible(f"{name} cannot be relied on. {error}") from error
    rows = sum(found.description.rows.values())
    age = timesince(found.description.made_at, depth=1)
    return f"{name} is whole: {rows:,} rows and {found.files:,} files, {age} old."


@daily_duty
def backup_is_due(today: date) -> None:
    """Queue the day's backup, once."""
    if not of_kind(make_daily_backup).not_over().exists() and not daily_path(today).exists():
        begin(make_daily_backup, f"Backup of {today:%-d %B %Y}", None, today=today.isoformat())


def ask_for_backup(by: Person) -> LongWork:
    """Queue a backup that somebody wants now."""
    return begin(make_backup, "Backup", by)


def ask_for_check(name: str, by: Person) -> LongWork:
    """Queue a check of a kept backup."""
    return begin(check_again, f"Check {name}", by, name=name)


def last_checks() -> dict[str, LongWork]:
    """How the last check of each backup ended, by its name."""
    over = of_kind(check_again).filter(state__in=[LongWork.State.DONE, LongWork.State.FAILED])
    return {work.arguments["name"]: work for work in over.order_by("ended_at")}


def at_work() -> list[LongWork]:
    """Backups and checks that wait or run."""
    return list(LongWork.objects.not_over().filter(kind__startswith=f"{__name__}."))

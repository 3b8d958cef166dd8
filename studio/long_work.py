"""Work that takes longer than a page may: films to check, previews to make, backups to write.

A function becomes a kind of long work with `@long_work`; `begin` queues it (inside the caller's
transaction, so that it exists exactly when what it is about exists), and a process of its own does
it (`manage.py work`, which `manage.py start` brings along). The function gets a `Report` first and
must be safe to run again from its beginning: after a power cut it is.
"""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.module_loading import import_string
from django_tasks import TaskResultStatus, task
from django_tasks_db.models import DBTaskResult

from studio.errors import NotPossible, no_space_left
from studio.models import LongWork, LongWorkQuerySet, Person

logger = logging.getLogger(__name__)

SECONDS_BETWEEN_REPORTS = 0.5  # the page asks once a second
SIGN_OF_LIFE = timedelta(seconds=5)
GIVEN_UP_AFTER = timedelta(seconds=30)  # without a sign of life it is begun again
MOST_ATTEMPTS = 3

_duties: list[Callable[[date], None]] = []
_at_work: set[int] = set()  # what this very process is doing
# Set when the working process was asked to end: what runs is put back into the queue.
closing = threading.Event()


class Stopped(Exception):
    """The person who asked for it wants it stopped."""


class PutBack(Exception):
    """The process ends; the work goes on in the next one."""


@dataclass
class Report:
    """What a running piece of work says about itself, and how it learns that it is unwanted."""

    pk: int
    _last: float = field(default=0.0)

    def progress(self, done: int, total: int, note: str = "") -> None:
        """Say how far it is. Call it often: it writes twice a second at most.

        Raises Stopped or PutBack, which the work lets pass after tidying up.
        """
        if closing.is_set():
            raise PutBack
        now = time.monotonic()
        if now - self._last < SECONDS_BETWEEN_REPORTS:
            return
        self._last = now
        row = LongWork.objects.filter(pk=self.pk)
        row.update(done=done, total=total, note=note[:300], alive_at=timezone.now())
        if row.filter(stop_wanted=True).exists():
            raise Stopped

    def result_at(self, url: str) -> None:
        """Say where what it made can be seen."""
        LongWork.objects.filter(pk=self.pk).update(result_url=url)


def long_work(function: Callable) -> Callable:
    """Make `function(report, **arguments)` a kind of long work.

    Its arguments are plain JSON values. It returns the sentence that says how it went, or raises
    NotPossible with the sentence that says why it could not.
    """
    function.is_long_work = True
    return function


def name_of(kind: Callable) -> str:
    """What a kind of long work is called in its rows."""
    return f"{kind.__module__}.{kind.__name__}"


def of_kind(kind: Callable) -> LongWorkQuerySet:
    """All long work of one kind, however it stands."""
    return LongWork.objects.filter(kind=name_of(kind))


@transaction.atomic
def begin(kind: Callable, title: str, asked_by: Person | None, **arguments) -> LongWork:
    """Queue a piece of long work; it runs once the transaction around it is kept."""
    if not getattr(kind, "is_long_work", False):
        raise ValueError(f"{name_of(kind)} is no kind of long work: mark it with @long_work.")
    work = LongWork.objects.create(
        title=title[:200], kind=name_of(kind), arguments=arguments, asked_by=asked_by
    )
    carry_out.enqueue(work.pk)
    return work


@transaction.atomic
def ask_to_stop(work: LongWork) -> None:
    """Stop it: at once while it waits, at its next report while it runs."""
    row = LongWork.objects.select_for_update().get(pk=work.pk)
    row.stop_wanted = True
    if row.state == LongWork.State.WAITING:
        _end(row, LongWork.State.STOPPED, "It was stopped before it began.")
    elif row.state == LongWork.State.RUNNING:
        row.save(update_fields=["stop_wanted"])


@task()
def carry_out(pk: int) -> None:
    """Do one piece of waiting work, whatever happens, and keep how it ended."""
    row = _claim(pk)
    if row is None:
        return
    _at_work.add(pk)
    try:
        sentence = import_string(row.kind)(Report(pk), **row.arguments)
    except Stopped:
        _end(row, LongWork.State.STOPPED, "It was stopped. Nothing half-made was kept.")
    except PutBack:
        _put_back(row)
    except NotPossible as refusal:
        _end(row, LongWork.State.FAILED, refusal.sentence)
    except Exception as error:
        logger.exception("Long work %s (%s) failed", pk, row.kind)
        _end(row, LongWork.State.FAILED, _why(error))
    else:
        LongWork.objects.filter(pk=pk, total__gt=0).update(done=F("total"))
        _end(row, LongWork.State.DONE, sentence or "Done.")
    finally:
        _at_work.discard(pk)


def daily_duty(function: Callable[[date], None]) -> Callable[[date], None]:
    """Register what is due once a day. It queues long work, and nothing where that was done."""
    _duties.append(function)
    return function


def see_to_daily_duties(today: date) -> None:
    """Call every daily duty; one that fails keeps no other from its turn."""
    for duty in _duties:
        try:
            duty(today)
        except Exception:
            logger.exception("The daily duty %s failed", duty.__name__)


def give_sign_of_life(now: datetime) -> None:
    """Say that what this process is doing is still being done."""
    LongWork.objects.filter(pk__in=_at_work, state=LongWork.State.RUNNING).update(alive_at=now)


def begin_again_what_was_cut_off(now: datetime) -> None:
    """Queue again what was running in a process that gave no sign of life for a while."""
    cut_off = LongWork.objects.filter(
        state=LongWork.State.RUNNING, alive_at__lt=now - GIVEN_UP_AFTER
    )
    for row in cut_off:
        if row.attempts >= MOST_ATTEMPTS:
            sentence = f"It was cut off {row.attempts} times before its end, and given up."
            _end(row, LongWork.State.FAILED, sentence)
        else:
            _put_back(row)


def queue_again_what_was_lost() -> None:
    """Queue waiting work again whose task went with the process that had just taken it.

    What is queued once too often is no harm: only waiting work is ever taken up.
    """
    waiting = set(
        LongWork.objects.filter(state=LongWork.State.WAITING).values_list("pk", flat=True)
    )
    if waiting:
        queued = DBTaskResult.objects.filter(
            task_path=carry_out.module_path, status=TaskResultStatus.READY
        )
        for pk in sorted(waiting - {task.args_kwargs["args"][0] for task in queued}):
            carry_out.enqueue(pk)


@transaction.atomic
def _claim(pk: int) -> LongWork | None:
    """Take a waiting piece of work; None where it was stopped or taken by another."""
    row = LongWork.objects.select_for_update().filter(pk=pk).first()
    if row is None or row.state != LongWork.State.WAITING:
        return None
    row.state = LongWork.State.RUNNING
    row.attempts += 1
    row.alive_at = timezone.now()
    row.save(update_fields=["state", "attempts", "alive_at"])
    return row


@transaction.atomic
def _put_back(row: LongWork) -> None:
    """Queue it again, unless another process did so meanwhile."""
    as_seen = LongWork.objects.filter(
        pk=row.pk, state=LongWork.State.RUNNING, attempts=row.attempts
    )
    if as_seen.update(state=LongWork.State.WAITING, done=0, note=""):
        carry_out.enqueue(row.pk)


def _end(row: LongWork, state: str, sentence: str) -> None:
    LongWork.objects.filter(pk=row.pk).update(
        state=state, note=sentence[:300], stop_wanted=False, ended_at=timezone.now()
    )


def _why(error: Exception) -> str:
    """What a person can do about an error nobody foresaw."""
    if no_space_left(error):
        return "There is no space left on the disk. Make room, then ask for it again."
    return "It broke off for a reason we did not foresee; the log of the server says where."

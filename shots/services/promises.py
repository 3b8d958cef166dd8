"""Keeping what was promised each evening. Writes; never sees a request."""

import logging
from collections.abc import Iterable, Mapping
from datetime import date, datetime

from django.db import DatabaseError, transaction

from shots.models import Production, Promise
from shots.queries.days_left import SEED, DaysLeft, days_left
from shots.queries.remembered import remembered
from shots.trade.forecast import forecast
from studio.models import Studio

log = logging.getLogger(__name__)

ONCE_AN_EVENING = ["production", "evening"]
SAID = [
    "even", "likely", "days", "days_uncorrected", "deadline", "chance", "budget", "kept",
]  # fmt: skip


def keep_promises(left: Mapping[int, DaysLeft], today: date) -> None:
    """Keep the promises a page shows of running films, by production id.

    A promise of an evening gone by stands as it was said; one still to come follows its film.
    Looking at a page never fails because this could not be written.
    """
    evenings = {days.history.as_of for days in left.values()}
    kept = {
        (promise.production_id, promise.evening): promise
        for promise in Promise.objects.filter(production__in=left, evening__in=evenings)
    }
    wanted = []
    for production, days in left.items():
        stands = kept.get((production, days.history.as_of))
        if stands is None or days.history.as_of >= today:
            promise = promise_of(production, days)
            if stands is None or any(getattr(stands, f) != getattr(promise, f) for f in SAID):
                wanted.append(promise)
    if not wanted:
        return
    try:
        _write(wanted)
    except DatabaseError:
        log.warning("This evening's promises could not be kept", exc_info=True)


def renew_promise_after(production: Production, now: datetime) -> None:
    """Once the change of a session is saved, keep the evening's promise anew."""

    # A function with a name: Django writes it in the log where a robust one fails.
    def renew() -> None:
        studio = Studio.objects.get()
        running = list(Production.objects.running().filter(pk=production.pk))
        left = days_left(running, studio, studio.today(now))
        _write([promise_of(pk, days) for pk, days in left.items()])

    transaction.on_commit(renew, robust=True)


@transaction.atomic
def _write(promises: Iterable[Promise]) -> None:
    """One row an evening, however many write it at once: the last one stands."""
    Promise.objects.bulk_create(
        promises, update_conflicts=True, unique_fields=ONCE_AN_EVENING, update_fields=SAID
    )


def promise_of(production: int, left: DaysLeft) -> Promise:
    """What the forecast says of a production this evening, as a row not yet saved."""
    history, answer = left.history, left.answer
    plain = remembered(forecast, history, seed=SEED) if left.correction else None
    return Promise(
        production_id=production,
        evening=history.as_of,
        even=left.finish_even,
        likely=left.finish_likely,
        days=answer.percentiles,
        days_uncorrected=plain and plain.percentiles,
        deadline=history.deadline,
        chance=answer.chance_of_deadline,
        budget=round(sum(shot.pictures_budgeted for shot in history.shots)),
        kept=round(sum(shot.pictures_kept for shot in history.shots)),
    )

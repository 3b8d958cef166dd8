"""Logging pictures: the sessions they were taken in are made or filled."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from shots.models import Picture, Production, Session, SessionShot
from shots.queries.picture_log import LogPlan, PlannedSession, log_plan, plan_into
from shots.services import sessions
from shots.services.session_counts import follow_status
from studio.errors import NotPossible
from studio.models import Person


@transaction.atomic
def log_pictures(
    production: Production,
    shown: int,
    people: Iterable[Person],
    now: datetime,
    into: Session | None = None,
) -> LogPlan:
    """Write the plan that was shown; `shown` is the number of pictures in it.

    New sessions get `people`. Raises NotPossible where pictures came in since, or where times
    cannot be.
    """
    Production.objects.select_for_update().get(pk=production.pk)
    if into is not None and into.production_id != production.pk:
        raise NotPossible("That session belongs to another production.", "session")
    plan = plan_into(into, now) if into else log_plan(production, now)
    if plan.pictures != shown:
        raise NotPossible(
            f"There are {plan.pictures} pictures to log by now, not {shown}. Look again, then log."
        )
    for planned in plan.sessions:
        session = _write(production, planned, people, now)
        ids = [picture.pk for picture in planned.pictures]
        Picture.objects.filter(pk__in=ids).update(session=session)
    return plan


def _write(
    production: Production, planned: PlannedSession, people: Iterable[Person], now: datetime
) -> Session:
    counts = {one.shot.pk: (one.kept, one.discarded) for one in planned.shots}
    if planned.is_running:
        return _count_running(planned)
    times = {
        "started_at": planned.times.start,
        "ended_at": planned.times.end,
        "break_minutes": planned.break_minutes,
    }
    session = planned.session
    if session is None:
        times["day"] = timezone.localtime(planned.times.start).date()
        times["setup"] = _common_setup(planned)
        return sessions.enter_session(production, times, people, counts, now)
    times["setup_minutes"] = session.setup_minutes
    return sessions.correct_session(
        session, session.version, times, session.people.all(), counts, now
    )


def _count_running(planned: PlannedSession) -> Session:
    """A running session keeps its times; its counts enter the history when it finishes."""
    for one in planned.shots:
        SessionShot.objects.update_or_create(
            session=planned.session,
            shot=one.shot,
            defaults={"kept": one.kept, "discarded": one.discarded},
        )
        follow_status(one.shot)
    return planned.session


def _common_setup(planned: PlannedSession):
    setups = {one.shot.setup_id for one in planned.shots}
    return planned.shots[0].shot.setup if len(setups) == 1 else None

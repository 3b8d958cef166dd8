"""What a person does in a session. Writes; never sees a request; `now` is always an argument.

A finished session is corrected as a whole, and every correction enters the history.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from shots.models import (
    Incident,
    PreShootCheck,
    Production,
    Session,
    SessionCheck,
    SessionShot,
    Setup,
    Shot,
)
from shots.services.promises import renew_promise_after
from shots.services.session_counts import follow_status, running
from shots.trade.session_times import SessionTimes, TimesError, check_times, whole_minute
from studio import services as house
from studio.errors import NotPossible
from studio.models import Person

# ----- starting, pausing, finishing


@transaction.atomic
def start_session(
    production: Production,
    setup: Setup | None,
    people: Iterable[Person],
    ticked: Iterable[int],
    by: Person,
    now: datetime,
) -> Session:
    """Start shooting at `now`. `ticked` are ids of the pre-shoot checks that were ticked.

    Starting with checks unticked is allowed. Raises NotPossible while another session runs.
    """
    _lock(production)
    _check_none_runs(production)
    started = whole_minute(now)
    before = Session.objects.finished().filter(production=production, ended_at__gt=started).first()
    if before:
        started = before.ended_at  # it was finished within this very minute
    session = Session.objects.create(
        production=production,
        setup=setup,
        day=timezone.localtime(started).date(),
        started_at=started,
    )
    session.people.set(people)
    ticked = set(ticked)
    SessionCheck.objects.bulk_create(
        SessionCheck(
            session=session,
            text=check.text,
            ticked_at=now if check.pk in ticked else None,
            ticked_by=by if check.pk in ticked else None,
        )
        for check in PreShootCheck.objects.all()
    )
    return session


@transaction.atomic
def tick_check(check: SessionCheck, by: Person, now: datetime) -> None:
    """Tick a pre-shoot check of a running session; who ticked first stays."""
    SessionCheck.objects.filter(pk=check.pk, ticked_at__isnull=True).update(
        ticked_at=now, ticked_by=by
    )


@transaction.atomic
def pause(session: Session, now: datetime) -> Session:
    """Begin a break; if one began already, it goes on."""
    session = running(session)
    if session.paused_at is None:
        session.paused_at = now
        session.save(update_fields=["paused_at"])
    return session


@transaction.atomic
def resume(session: Session, now: datetime) -> Session:
    """End a break: its minutes are added to the session's breaks."""
    session = running(session)
    session.break_minutes = breaks_so_far(session, now)
    session.paused_at = None
    session.save(update_fields=["break_minutes", "paused_at"])
    return session


def breaks_so_far(session: Session, now: datetime) -> int:
    """Whole minutes of break up to `now`, the break going on included."""
    if session.paused_at is None:
        return session.break_minutes
    return session.break_minutes + round((now - session.paused_at) / timedelta(minutes=1))


@transaction.atomic
def finish_session(
    session: Session,
    ended_at: datetime | None,
    setup_minutes: int,
    break_minutes: int,
    notes: str,
    now: datetime,
) -> Session:
    """Finish a running session at `ended_at`, or now.

    A break going on ends with it. Raises NotPossible for times that cannot be.
    """
    _lock(session.production)
    session = running(session)
    if ended_at is None:
        # Up to the next whole minute, so that the shortest session has a length.
        ended_at = whole_minute(now + timedelta(seconds=59))
        ended_at = max(ended_at, session.started_at + timedelta(minutes=1))
    session.ended_at, session.paused_at = ended_at, None
    session.setup_minutes, session.break_minutes = setup_minutes, break_minutes
    session.notes = notes
    _check_can_have_been(session, now + timedelta(minutes=1))
    session.version += 1
    session.save(
        update_fields=[
            "ended_at", "paused_at", "setup_minutes", "break_minutes", "notes", "version",
        ]
    )  # fmt: skip
    for output in session.output.all():
        output.save()  # the counts as they stand enter the history
    renew_promise_after(session.production, now)
    return session


@transaction.atomic
def reopen_session(session: Session) -> Session:
    """Undo finishing: the session runs on. Raises NotPossible unless it is the latest one."""
    _lock(session.production)
    session = Session.objects.select_for_update().get(pk=session.pk)
    _check_none_runs(session.production)
    later = Session.objects.current().filter(
        production=session.production_id, started_at__gt=session.started_at
    )
    if later.exists():
        raise NotPossible("Another session came after this one: correct this one instead.")
    session.ended_at = None
    session.version += 1
    session.save(update_fields=["ended_at", "version"])
    return session


# ----- what went wrong


@transaction.atomic
def note_incident(
    session: Session,
    kind: str,
    shot: Shot | None,
    picture: int | None,
    note: str,
    by: Person,
    now: datetime,
) -> Incident:
    """Note that something went wrong, and at which picture of the shot.

    Without a picture's number it is the last one kept.
    """
    running(session)
    if shot and picture is None:
        picture = Shot.objects.with_counts().get(pk=shot.pk).kept
    return Incident.objects.create(
        session=session, kind=kind, shot=shot, picture=picture, note=note, by=by, at=now
    )


@transaction.atomic
def take_back_incident(incident: Incident) -> None:
    """Undo a note that was a slip of the finger, while its session runs."""
    running(incident.session)
    incident.delete()


# ----- after the fact


@transaction.atomic
def enter_session(
    production: Production,
    fields: dict,
    people: Iterable[Person],
    counts: Mapping[int, tuple[int, int]],
    now: datetime,
) -> Session:
    """Enter a session after the fact. `counts` are kept and discarded pictures by shot id.

    Raises NotPossible for times that cannot be, or that overlap another session.
    """
    _lock(production)
    session = Session(production=production, **fields)
    _check_can_have_been(session, now)
    session.save()
    session.people.set(people)
    _write_counts(session, counts)
    renew_promise_after(production, now)
    return session


@transaction.atomic
def correct_session(
    session: Session,
    read_version: int,
    fields: dict,
    people: Iterable[Person],
    counts: Mapping[int, tuple[int, int]],
    now: datetime,
) -> Session:
    """Correct a finished session; what changes enters its history.

    Raises EditedMeanwhile where somebody saved it since `read_version`, and NotPossible for times
    that cannot be, or that overlap another session.
    """
    _lock(session.production)
    _check_can_have_been(Session(pk=session.pk, production=session.production, **fields), now)
    session = house.save_changes(session, read_version, fields)
    people = set(people)
    others = people != set(session.people.all())
    if others:
        session.people.set(people)
    counted = _write_counts(session, counts)
    if (others or counted) and session.version == read_version:
        Session.objects.filter(pk=session.pk).update(version=F("version") + 1)
    renew_promise_after(session.production, now)
    return session


def _write_counts(session: Session, counts: Mapping[int, tuple[int, int]]) -> bool:
    """Write counts that differ from what stands; whether any did."""
    stands = {output.shot_id: output for output in session.output.all()}
    shots = Shot.objects.filter(production=session.production_id).in_bulk(list(counts))
    changed = False
    for shot_id, shot in shots.items():
        kept, discarded = counts[shot_id]
        output = stands.get(shot_id) or SessionShot(session=session, shot=shot)
        if (output.kept, output.discarded) == (kept, discarded):
            continue
        output.kept, output.discarded = kept, discarded
        output.save()
        follow_status(shot)
        changed = True
    return changed


@transaction.atomic
def archive_session(session: Session, now: datetime) -> None:
    """Put a session aside: its pictures no longer count. `restore_session` undoes it."""
    house.archive(session, now)
    _follow_all_shots(session)
    renew_promise_after(session.production, now)


@transaction.atomic
def restore_session(session: Session, now: datetime) -> None:
    """Bring an archived session back. Raises NotPossible where another stands in its time."""
    _lock(session.production)
    if session.ended_at is None:
        _check_none_runs(session.production)
    _check_overlaps(session, now)
    house.restore(session)
    _follow_all_shots(session)
    renew_promise_after(session.production, now)


def _follow_all_shots(session: Session) -> None:
    for shot in Shot.objects.filter(output__session=session):
        follow_status(shot)


# ----- refusals


def _lock(production: Production) -> None:
    """One at a time: sessions of a production must not overlap."""
    Production.objects.select_for_update().get(pk=production.pk)


def _check_none_runs(production: Production) -> None:
    running = Session.objects.open().filter(production=production).first()
    if running:
        raise NotPossible(f"A session is running already, {spoken_span(running)}. Finish it first.")


def _check_can_have_been(session: Session, now: datetime) -> None:
    times = SessionTimes(
        timezone.localtime(session.started_at),
        timezone.localtime(session.ended_at),
        session.setup_minutes,
        session.break_minutes,
    )
    try:
        check_times(times, now)
    except TimesError as error:
        raise NotPossible(error.sentence, error.field) from error
    _check_overlaps(session, now)


def _check_overlaps(session: Session, now: datetime) -> None:
    """Refuse times in which another session stands; a running one lasts until now."""
    other = (
        Session.objects.current()
        .filter(Q(ended_at__isnull=True) | Q(ended_at__gt=session.started_at))
        .filter(production=session.production_id, started_at__lt=session.ended_at or now)
        .exclude(pk=session.pk)
        .first()
    )
    if other:
        raise NotPossible(
            f"Overlaps the session {spoken_span(other)}. Correct the times of one of them.",
            "start",
        )


def spoken_span(session: Session) -> str:
    """When a session was, in words: `of 02.03.2026, 09:00 to 13:00`."""
    started = timezone.localtime(session.started_at)
    if session.ended_at is None:
        return f"of {started:%d.%m.%Y}, since {started:%H:%M}"
    ended = timezone.localtime(session.ended_at)
    return f"of {started:%d.%m.%Y}, {started:%H:%M} to {ended:%H:%M}"

"""Starting, pausing, finishing, entering and correcting sessions."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db.models import F
from django.utils import timezone

from shots.models import Session, SessionShot, Shot
from shots.queries.changes import session_moments
from shots.services import session_counts, sessions
from shots.services.floor import FIRST_CHECKS, lay_out_lists
from studio.changes import Change
from studio.errors import EditedMeanwhile, NotPossible
from tests import factories

NOW = datetime(2026, 3, 2, 10, 0, 40, tzinfo=UTC)
LATER = datetime(2026, 3, 10, 18, tzinfo=UTC)


def at(hour: int, minute: int = 0, day: int = 2) -> datetime:
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


def times(started: datetime, ended: datetime, setup_minutes: int = 0, break_minutes: int = 0):
    return {
        "day": started.date(),
        "started_at": started,
        "ended_at": ended,
        "setup": None,
        "setup_minutes": setup_minutes,
        "break_minutes": break_minutes,
        "notes": "",
    }


@pytest.fixture
def production(studio):
    return factories.ProductionFactory()


@pytest.fixture
def running(production, crew):
    return sessions.start_session(production, None, [crew], [], crew, NOW)


def test_starting_copies_the_checks_with_who_ticked_them(production, crew):
    lay_out_lists(sender=None)
    first = sessions.PreShootCheck.objects.first()
    session = sessions.start_session(production, None, [crew], [first.pk], crew, NOW)
    checks = list(session.checks.all())
    assert [check.text for check in checks] == FIRST_CHECKS
    assert (checks[0].ticked_at, checks[0].ticked_by) == (NOW, crew)
    assert checks[1].ticked_at is None
    sessions.tick_check(checks[1], crew, at(11))
    assert session.checks.filter(ticked_at__isnull=False).count() == 2


def test_a_session_belongs_to_the_day_it_starts_on_in_the_studio(production, crew, studio):
    with timezone.override(studio.zone):  # 23:30 UTC is half past midnight in Warsaw
        session = sessions.start_session(production, None, [crew], [], crew, at(23, 30))
    assert session.day == date(2026, 3, 3)


def test_only_one_session_runs_in_a_production(production, running, crew):
    with pytest.raises(NotPossible, match="running already"):
        sessions.start_session(production, None, [crew], [], crew, at(12))


def test_pauses_add_to_the_breaks(running):
    sessions.pause(running, at(11))
    sessions.pause(running, at(11, 5))  # the second tap changes nothing
    sessions.resume(running, at(11, 10))
    sessions.pause(running, at(12))
    assert sessions.breaks_so_far(Session.objects.get(), at(12, 20)) == 30
    sessions.resume(running, at(12, 20))
    assert Session.objects.get().break_minutes == 30


def test_finishing_keeps_times_and_records_the_counts(running):
    shot = factories.ShotFactory(production=running.production)
    session_counts.add_pictures(running, shot, "kept", 12)
    sessions.finish_session(running, None, 30, 15, "", at(12))
    session = Session.objects.get()
    assert session.ended_at == at(12)
    assert session.hours == pytest.approx(1.75)
    assert [record.kept for record in session.output.get().history.all()] == [12, 0]


def test_the_shortest_session_has_a_length_and_the_next_one_follows_it(production, running, crew):
    sessions.finish_session(running, None, 0, 0, "", NOW + timedelta(seconds=5))
    next_one = sessions.start_session(
        production, None, [crew], [], crew, NOW + timedelta(seconds=9)
    )
    finished = Session.objects.finished().get()
    assert finished.ended_at == at(10, 1)
    assert next_one.started_at == finished.ended_at


@pytest.mark.parametrize(
    ("ended", "setup", "breaks", "field", "says"),
    [
        (at(9), 0, 0, "ended", "not after its start"),
        (at(13), 0, 0, "ended", "future"),
        (None, 100, 30, "setup_minutes", "longer than the session"),
    ],
)
def test_finishing_refuses_impossible_times(running, ended, setup, breaks, field, says):
    with pytest.raises(NotPossible, match=says) as refusal:
        sessions.finish_session(running, ended, setup, breaks, "", at(12))
    assert refusal.value.field == field
    assert Session.objects.get().ended_at is None


def test_a_forgotten_session_is_not_finished_days_later_without_its_end(running):
    with pytest.raises(NotPossible, match="24 h at most"):
        sessions.finish_session(running, None, 0, 0, "", LATER)
    sessions.finish_session(running, at(17), 0, 0, "", LATER)
    assert Session.objects.get().ended_at == at(17)


def test_finishing_twice_is_refused_and_finishing_is_undone(running):
    sessions.finish_session(running, None, 0, 0, "", at(12))
    with pytest.raises(NotPossible, match="finished"):
        sessions.finish_session(running, None, 0, 0, "", at(13))
    sessions.reopen_session(running)
    assert Session.objects.open().get() == running


def test_only_the_latest_session_is_reopened(production):
    first = factories.SessionFactory(production=production)
    factories.SessionFactory(
        production=production, day=date(2026, 3, 3), started_at=at(8, day=3), ended_at=at(9, day=3)
    )
    with pytest.raises(NotPossible, match="Another session"):
        sessions.reopen_session(first)


@pytest.mark.parametrize(
    ("started", "ended", "overlaps"),
    [
        (at(7), at(8), False),
        (at(12), at(13), False),
        (at(7), at(8, 1), True),
        (at(11, 59), at(13), True),
        (at(9), at(10), True),
        (at(7), at(13), True),
    ],
)
def test_sessions_of_a_production_do_not_overlap(production, started, ended, overlaps):
    factories.SessionFactory(production=production)  # 08:00 to 12:00 UTC
    factories.SessionFactory(started_at=at(1), ended_at=at(23))  # another production's
    if not overlaps:
        sessions.enter_session(production, times(started, ended), [], {}, LATER)
        return
    with pytest.raises(NotPossible, match="Overlaps the session of 02") as refusal:
        sessions.enter_session(production, times(started, ended), [], {}, LATER)
    assert refusal.value.field == "start"
    assert production.sessions.count() == 1


def test_a_running_session_lasts_until_any_end(production, running):
    with pytest.raises(NotPossible, match="Overlaps"):
        sessions.enter_session(production, times(at(9), at(10, 30)), [], {}, LATER)
    sessions.enter_session(production, times(at(9), at(10)), [], {}, LATER)


def test_entering_after_the_fact_counts_and_starts_shots(production, crew):
    shot = factories.ShotFactory(production=production)
    elsewhere = factories.ShotFactory()
    counts = {shot.pk: (12, 3), elsewhere.pk: (9, 9)}
    session = sessions.enter_session(production, times(at(8), at(12)), [crew], counts, LATER)
    output = session.output.get()
    assert (output.shot, output.kept, output.discarded) == (shot, 12, 3)
    assert Shot.objects.get(pk=shot.pk).status == "shooting"
    assert list(session.people.all()) == [crew]


def test_a_correction_is_recorded_with_old_and_new(production, crew):
    shot = factories.ShotFactory(production=production, code="A1")
    session = sessions.enter_session(
        production, times(at(8), at(12)), [], {shot.pk: (12, 3)}, LATER
    )
    for model in (Session, SessionShot):
        model.history.update(history_date=F("history_date") - timedelta(hours=1))
    sessions.correct_session(
        session, 1, times(at(8), at(12), break_minutes=20), [crew], {shot.pk: (10, 5)}, LATER
    )
    said = {change for moment in session_moments(session) for change in moment.changes}
    assert Change("breaks", "0", "20") in said
    assert Change("A1 kept", "12", "10") in said
    assert Change("A1 discarded", "3", "5") in said
    assert Change("people", "", crew.name) in said
    session.refresh_from_db()
    assert session.version == 2


def test_correcting_counts_alone_raises_the_version(production):
    shot = factories.ShotFactory(production=production)
    session = sessions.enter_session(production, times(at(8), at(12)), [], {}, LATER)
    sessions.correct_session(session, 1, times(at(8), at(12)), [], {shot.pk: (1, 0)}, LATER)
    with pytest.raises(EditedMeanwhile):
        sessions.correct_session(session, 1, times(at(8), at(12)), [], {shot.pk: (2, 0)}, LATER)
    assert session.output.get().kept == 1


def test_an_impossible_correction_changes_nothing(production):
    session = factories.SessionFactory(production=production)
    with pytest.raises(NotPossible):
        sessions.correct_session(session, 1, times(at(8), at(8)), [], {}, LATER)
    session.refresh_from_db()
    assert (session.ended_at, session.version) == (at(12), 1)


def test_an_archived_session_no_longer_counts_and_comes_back(production):
    shot = factories.ShotFactory(production=production)
    session = sessions.enter_session(
        production, times(at(8), at(12)), [], {shot.pk: (12, 0)}, LATER
    )
    sessions.archive_session(session, LATER)
    stands = Shot.objects.with_counts().get(pk=shot.pk)
    assert (stands.photographed, stands.status) == (0, "to shoot")
    sessions.restore_session(session, LATER)
    assert Shot.objects.with_counts().get(pk=shot.pk).photographed == 12


def test_an_archived_session_does_not_come_back_over_another(production):
    session = factories.SessionFactory(production=production)
    sessions.archive_session(session, LATER)
    sessions.enter_session(production, times(at(9), at(10)), [], {}, LATER)
    session.refresh_from_db()
    with pytest.raises(NotPossible, match="Overlaps"):
        sessions.restore_session(session, LATER)

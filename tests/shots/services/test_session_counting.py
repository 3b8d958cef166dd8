"""Counting pictures while a session runs."""

from datetime import UTC, datetime
from threading import Thread

import pytest
from django.db import connection

from shots.models import SessionShot, Shot
from shots.services import session_counts, sessions
from studio.errors import EditedMeanwhile, NotPossible
from tests import factories

NOW = datetime(2026, 3, 2, 10, tzinfo=UTC)


@pytest.fixture
def running(studio):
    return factories.SessionFactory(running=True)


@pytest.fixture
def shot(running):
    return factories.ShotFactory(production=running.production)  # a budget of 24 pictures


def counted(session, shot) -> tuple[int, int]:
    output = SessionShot.objects.get(session=session, shot=shot)
    return output.kept, output.discarded


def status(shot) -> str:
    return Shot.objects.get(pk=shot.pk).status


def test_taps_of_two_people_add_up(running, shot):
    for by in (1, 5, 1, -1):
        session_counts.add_pictures(running, shot, "kept", by)
    session_counts.add_pictures(running, shot, "discarded", 1)
    assert counted(running, shot) == (6, 1)


@pytest.mark.django_db(transaction=True)
def test_two_people_tapping_at_the_same_moment_lose_nothing(running, shot):
    def tap_ten_times():
        for _ in range(10):
            session_counts.add_pictures(running, shot, "kept", 1)
        connection.close()

    people = [Thread(target=tap_ten_times) for _ in range(2)]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert counted(running, shot) == (20, 0)


@pytest.mark.parametrize(("count", "by"), [("kept", -1), ("discarded", -5), ("kept", 100_001)])
def test_a_count_stays_between_none_and_the_most(running, shot, count, by):
    with pytest.raises(NotPossible, match="below 0 or over 100000"):
        session_counts.add_pictures(running, shot, count, by)


def test_kept_beyond_the_budget_is_allowed(running, shot):
    session_counts.add_pictures(running, shot, "kept", 30)
    assert counted(running, shot) == (30, 0)


def test_a_number_typed_late_does_not_overwrite_taps(running, shot):
    session_counts.add_pictures(running, shot, "kept", 4)
    with pytest.raises(EditedMeanwhile) as meanwhile:
        session_counts.set_pictures(running, shot, "kept", 20, read=0)
    assert meanwhile.value.current.kept == 4
    assert counted(running, shot) == (4, 0)
    assert session_counts.set_pictures(running, shot, "kept", 20, read=4) == 16
    assert counted(running, shot) == (20, 0)


def test_typing_what_stands_already_is_no_conflict(running, shot):
    session_counts.add_pictures(running, shot, "kept", 4)
    assert session_counts.set_pictures(running, shot, "kept", 4, read=0) == 0


@pytest.mark.parametrize("value", [-1, 100_001])
def test_an_impossible_number_is_refused(running, shot, value):
    with pytest.raises(NotPossible, match="enter 0 to 100000"):
        session_counts.set_pictures(running, shot, "kept", value, read=0)


def test_the_first_kept_picture_starts_the_shot_and_its_undo_stops_it(running, shot):
    session_counts.add_pictures(running, shot, "discarded", 1)
    assert status(shot) == "to shoot"
    session_counts.add_pictures(running, shot, "kept", 1)
    assert status(shot) == "shooting"
    session_counts.add_pictures(running, shot, "kept", -1)
    assert status(shot) == "to shoot"


@pytest.mark.parametrize("stands", ["shot", "approved", "to retake"])
def test_counting_leaves_other_statuses_alone(running, shot, stands):
    Shot.objects.filter(pk=shot.pk).update(status=stands)
    session_counts.add_pictures(running, shot, "kept", 1)
    assert status(shot) == stands


def test_a_finished_session_is_not_counted_in(studio):
    session = factories.SessionFactory()
    shot = factories.ShotFactory(production=session.production)
    with pytest.raises(NotPossible, match="finished"):
        session_counts.add_pictures(session, shot, "kept", 1)
    with pytest.raises(NotPossible, match="finished"):
        session_counts.set_pictures(session, shot, "kept", 1, read=0)


def test_a_shot_is_marked_done_and_back_with_its_history(running, shot):
    session_counts.mark_shot(shot, is_done=True)
    assert status(shot) == "shot"
    session_counts.mark_shot(shot, is_done=False)
    assert status(shot) == "shooting"
    assert [record.status for record in shot.history.all()] == ["shooting", "shot", "to shoot"]


def test_a_cut_shot_is_not_marked(running, shot):
    Shot.objects.filter(pk=shot.pk).update(status="cut")
    with pytest.raises(NotPossible, match="cut"):
        session_counts.mark_shot(shot, is_done=True)


def test_an_incident_without_a_number_is_at_the_last_kept_picture(running, shot, crew):
    session_counts.add_pictures(running, shot, "kept", 7)
    bump = sessions.note_incident(running, "bump", shot, None, "", crew, NOW)
    flicker = sessions.note_incident(running, "flicker", shot, 3, "left lamp", crew, NOW)
    assert (bump.picture, flicker.picture) == (7, 3)
    sessions.take_back_incident(bump)
    assert list(running.incidents.all()) == [flicker]

"""Sessions rolled up by shot, day and production."""

from datetime import UTC, date, datetime

import pytest

from shots.queries import sessions as queries
from tests import factories


@pytest.fixture
def production(studio):
    return factories.ProductionFactory()


@pytest.fixture
def shot(production):
    return factories.ShotFactory(production=production)


def session(production, day: int, hours: int, kept: int, shot, **fields):
    row = factories.SessionFactory(
        production=production,
        day=date(2026, 3, day),
        started_at=datetime(2026, 3, day, 8, tzinfo=UTC),
        ended_at=datetime(2026, 3, day, 8 + hours, tzinfo=UTC),
        **fields,
    )
    factories.SessionShotFactory(session=row, shot=shot, kept=kept, discarded=2)
    return row


@pytest.fixture
def two_days(production, shot):
    session(production, 2, 4, 24, shot, setup_minutes=60)
    session(production, 3, 5, 30, shot, setup_minutes=30, break_minutes=60)


def test_a_production_adds_up(production, two_days):
    totals = queries.totals_of_production(production)
    # 4 h + 5 h − 1 h of breaks; 54 kept in 8 h − 1.5 h of set-up.
    assert totals.hours == pytest.approx(8)
    assert totals.setup_hours == pytest.approx(1.5)
    assert (totals.kept, totals.discarded) == (54, 4)
    assert totals.pace == pytest.approx(54 / 6.5)


def test_days_add_up_each_for_itself(production, two_days):
    days = queries.totals_by_day(production)
    assert [(day.day, day.totals.kept) for day in days] == [
        (date(2026, 3, 2), 24),
        (date(2026, 3, 3), 30),
    ]
    assert [day.totals.pace for day in days] == pytest.approx([8, 30 / 3.5])


def test_shots_add_up_over_sessions(production, shot, two_days):
    assert queries.totals_by_shot(production) == {shot.pk: queries.ShotTotals(54, 4)}


def test_nothing_worked_has_no_pace(production):
    assert queries.totals_of_production(production) == queries.Totals()
    assert queries.Totals(hours=1, setup_hours=1, kept=3).pace is None


def test_archived_and_other_productions_sessions_are_left_out(production, shot, two_days):
    archived = datetime(2026, 3, 9, tzinfo=UTC)
    session(production, 4, 4, 99, shot, archived_at=archived)
    factories.SessionShotFactory(kept=77)
    assert queries.totals_of_production(production).kept == 54
    assert len(queries.totals_by_day(production)) == 2
    assert queries.totals_by_shot(production)[shot.pk].kept == 54


def test_a_running_session_is_not_in_the_hours(production, shot):
    running = factories.SessionFactory(production=production, running=True)
    factories.SessionShotFactory(session=running, shot=shot, kept=5)
    assert queries.totals_of_production(production) == queries.Totals()
    assert queries.totals_by_shot(production)[shot.pk].kept == 5


def test_the_list_shows_the_newest_days_first_one_page_at_a_time(production, shot):
    for day in range(1, 21):
        session(production, day, 1, 1, shot)
    newest = queries.sessions(production, None)
    assert [day.day.day for day in newest.days] == list(range(20, 6, -1))
    assert [day.day.day for day in queries.sessions(production, 2).days] == [6, 5, 4, 3, 2, 1]
    assert newest.totals.kept == 20

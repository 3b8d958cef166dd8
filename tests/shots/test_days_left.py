"""Days left on the page come from the sessions logged, and the queries do not grow."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shots.models import SessionShot, Shot
from shots.queries.days_left import days_left
from shots.queries.film import running_films
from shots.queries.history import histories
from tests import factories

MONDAY = date(2026, 3, 2)


def half_shot_film(**fields):
    """Two shots of 24 pictures; the first is done after two days of twelve pictures each."""
    film = factories.ProductionFactory(**fields)
    done = factories.ShotFactory(production=film, status=Shot.Status.SHOT)
    factories.ShotFactory(production=film)
    for day in range(2):
        start = datetime(2026, 3, 2 + day, 8, tzinfo=UTC)
        session = factories.SessionFactory(
            production=film,
            day=start.date(),
            started_at=start,
            ended_at=start + timedelta(hours=4),
            setup_minutes=60,
            break_minutes=30,
        )
        factories.SessionShotFactory(session=session, shot=done, kept=12)
    return film


def test_history_holds_what_was_logged(studio):
    film = half_shot_film()
    history = histories([film], studio, date(2026, 3, 4))[film.pk]
    assert [(shot.pictures_budgeted, shot.pictures_kept, shot.done) for shot in history.shots] == [
        (24, 24, True),
        (24, 0, False),
    ]
    assert [(session.hours, session.setup_hours, session.kept) for session in history.sessions] == [
        (3.5, 1.0, 12),
        (3.5, 1.0, 12),
    ]


@pytest.mark.parametrize(
    ("today", "evening"),
    [
        (date(2026, 3, 3), date(2026, 3, 3)),  # today's session is finished: today is over
        (date(2026, 3, 4), date(2026, 3, 3)),  # nothing yet today: today can still be shot on
    ],
)
def test_today_counts_until_its_session_is_finished(studio, today, evening):
    film = half_shot_film()
    assert histories([film], studio, today)[film.pk].as_of == evening


def test_before_the_first_session_the_forecast_starts_on_the_eve_of_the_start(studio):
    film = factories.ProductionFactory(start=date(2026, 3, 9))
    factories.ShotFactory(production=film)
    left = days_left([film], studio, MONDAY)[film.pk]
    assert left.history.as_of == date(2026, 3, 8)
    assert "assumed pace" in left.basis


def test_a_retake_and_a_cut_change_what_is_left(studio):
    film = half_shot_film()
    done, to_shoot = film.shots.order_by("pk")
    done.status, done.retaken_pictures = Shot.Status.TO_RETAKE, 10
    done.save()
    history = histories([film], studio, date(2026, 3, 4))[film.pk]
    assert history.pictures_left == 34
    to_shoot.status = Shot.Status.CUT
    to_shoot.save()
    history = histories([film], studio, date(2026, 3, 4))[film.pk]
    assert history.pictures_left == 10


def test_what_is_mended_in_a_finished_film_reaches_the_next_forecast(studio):
    film, past = half_shot_film(), half_shot_film(stage="delivered")
    before = histories([film], studio, date(2026, 3, 4))[film.pk]
    SessionShot.objects.filter(session__production=past).update(discarded=F("discarded") + 1)
    counted = histories([film], studio, date(2026, 3, 4))[film.pk]
    past.sessions.update(break_minutes=F("break_minutes") + 5)
    rested = histories([film], studio, date(2026, 3, 4))[film.pk]
    past.shots.update(screen_frames=F("screen_frames") + 2)
    longer = histories([film], studio, date(2026, 3, 4))[film.pk]
    assert len({one.digest for one in (before, counted, rested, longer)}) == 4


def test_a_day_off_ahead_moves_dates_not_days(studio):
    film = half_shot_film()
    before = days_left([film], studio, date(2026, 3, 4))[film.pk]
    studio.working_weekdays = [0]
    studio.save()
    after = days_left([film], studio, date(2026, 3, 4))[film.pk]
    assert after.finish_likely > before.finish_likely


@pytest.mark.django_db
def test_queries_do_not_grow_with_films_or_history(studio):
    half_shot_film()
    with CaptureQueriesContext(
        connection,
    ) as one:
        running_films(studio, date(2026, 3, 4), [])
    for _ in range(10):
        half_shot_film()
        half_shot_film(stage="delivered")
    with CaptureQueriesContext(connection) as many:
        running_films(studio, date(2026, 3, 4), [])
    assert len(many) == len(one)


def test_today_shows_the_promise_to_crew_too(crew_client):
    half_shot_film()
    page = crew_client.get("/").content.decode()
    assert "shooting most likely" in page
    assert "The Felt Fox" in page


def test_film_page_stands_without_shots_sessions_or_deadline(owner_client):
    film = factories.ProductionFactory(deadline=None, start=None, contracted_frames=None)
    page = owner_client.get(reverse("shots:film", args=[film.code]))
    assert page.status_code == 200
    assert "There are no shots to forecast." in page.content.decode()

"""Each evening's promise is kept once, what-ifs save only when asked, and the record tells."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError
from django.urls import reverse
from django.utils import timezone

from shots.models import Production, Promise, Shot
from shots.queries import record
from shots.queries.days_left import days_left, fan_of
from shots.queries.film import move_bars
from shots.queries.history import histories
from shots.services import promises, sessions
from shots.trade.forecast import answer_to_json, forecast
from studio.models import Studio
from tests.shots.test_days_left import half_shot_film

WEDNESDAY = date(2026, 3, 4)


@pytest.fixture
def film(studio):
    return half_shot_film(code="FELT")


def test_the_evenings_promise_is_kept_once_and_stands(film, studio):
    left = days_left([film], studio, WEDNESDAY)
    promises.keep_promises(left, WEDNESDAY)
    promises.keep_promises(left, WEDNESDAY)
    kept = Promise.objects.get()
    assert kept.evening == date(2026, 3, 3)
    assert kept.likely == left[film.pk].finish_likely
    assert (kept.budget, kept.kept) == (48, 24)
    film.shots.update(screen_frames=960)
    promises.keep_promises(days_left([film], studio, WEDNESDAY), WEDNESDAY)
    assert Promise.objects.get().budget == 48  # an evening gone by stands as it was said


def test_looking_at_a_page_never_fails_because_the_promise_cannot_be_kept(
    film, owner_client, monkeypatch
):
    def full(*args, **kwargs):
        raise DatabaseError("disk full")

    monkeypatch.setattr(promises, "_write", full)
    assert owner_client.get("/").status_code == 200
    assert owner_client.get(reverse("shots:film", args=["FELT"])).status_code == 200
    assert not Promise.objects.exists()


def test_finishing_a_session_renews_the_promise_of_its_evening(
    film, studio, django_capture_on_commit_callbacks
):
    promises.keep_promises(days_left([film], studio, WEDNESDAY), WEDNESDAY)
    start = datetime(2026, 3, 4, 8, tzinfo=UTC)
    left = film.shots.get(status=Shot.Status.TO_SHOOT)
    fields = {"day": WEDNESDAY, "started_at": start, "ended_at": start + timedelta(hours=4)}
    with django_capture_on_commit_callbacks(execute=True):
        session = sessions.enter_session(
            film, fields, [], {left.pk: (5, 0)}, start + timedelta(hours=5)
        )
    assert [promise.kept for promise in Promise.objects.all()] == [24, 29]
    with django_capture_on_commit_callbacks(execute=True):
        sessions.correct_session(
            session, 1, fields, [], {left.pk: (9, 0)}, start + timedelta(hours=6)
        )
    assert [promise.kept for promise in Promise.objects.all()] == [24, 33]


def test_a_session_is_finished_even_if_its_promise_cannot_be_kept(
    film, monkeypatch, django_capture_on_commit_callbacks
):
    def full(*args, **kwargs):
        raise DatabaseError("disk full")

    monkeypatch.setattr(promises, "_write", full)
    with django_capture_on_commit_callbacks(execute=True):
        sessions.archive_session(film.sessions.first(), timezone.now())
    assert film.sessions.current().count() == 1


def test_two_pages_opened_at_once_keep_one_promise(film, studio):
    left = days_left([film], studio, WEDNESDAY)[film.pk]
    first, second = promises.promise_of(film.pk, left), promises.promise_of(film.pk, left)
    second.budget = 50
    promises._write([first])
    promises._write([second])  # it looked before the first had written
    assert [promise.budget for promise in Promise.objects.all()] == [50]


def test_the_budget_line_starts_at_what_was_agreed_and_follows_each_evening(film, studio):
    kept = [
        Promise(production=film, evening=date(2026, 3, 2), budget=40, kept=0, days=[]),
        Promise(production=film, evening=date(2026, 3, 3), budget=48, kept=0, days=[]),
    ]
    left = days_left([film], studio, WEDNESDAY)[film.pk]
    heights = [y for _, y in fan_of(left, 36, kept).budget]
    top = 48 / heights[-1]
    assert [round(y * top) for y in heights] == [36, 36, 40, 40, 48, 48]


def test_causes_are_drawn_from_the_same_line(film, studio):
    zero, bars = move_bars(days_left([film], studio, WEDNESDAY)[film.pk])
    assert bars
    for bar in bars:
        assert bar.width > 0
        assert 0 <= bar.x <= bar.x + bar.width <= 1.0001
        assert (bar.x + bar.width if bar.saves else bar.x) == pytest.approx(zero)


def test_today_keeps_the_promise_of_every_running_film(film, owner_client):
    owner_client.get("/")
    assert Promise.objects.count() == 1


def delivered_film(code: str, likely_days: int):
    """A film that promised so many days four times in five, and took two."""
    film = half_shot_film(code=code, stage="delivered")
    film.shots.update(status=Shot.Status.APPROVED)
    Promise.objects.create(
        production=film,
        evening=date(2026, 2, 27),
        even=date(2026, 3, 3),
        likely=date(2026, 2, 27) + timedelta(days=likely_days),
        days=[max(1, round(likely_days * n / 80)) for n in range(1, 100)],
        deadline=film.deadline,
        chance=0.9,
        budget=48,
        kept=0,
    )
    return film


def test_a_delivered_film_shows_how_its_promise_moved(studio, owner_client):
    delivered_film("CLAY", 4)
    page = record.record(Production.objects.get())
    assert page.finished == date(2026, 3, 3)
    assert [promise.evening for promise in page.promises] == [date(2026, 2, 27)]
    shown = owner_client.get(reverse("shots:record", args=["CLAY"])).content.decode()
    assert "3 March" in shown or "3 Mar" in shown


def test_the_calibration_says_in_words_whether_to_trust_it(studio, crew_client):
    empty = crew_client.get(reverse("shots:calibration")).content.decode()
    for number in range(3):
        delivered_film(f"CLAY{number}", 4)
    page = record.calibration(Studio.objects.get())
    assert len(page.films) == 3
    assert page.correction is None  # three films are too few to correct anything
    shown = crew_client.get(reverse("shots:calibration")).content.decode()
    assert shown != empty
    assert page.correction_sentence in shown.replace("&#x27;", "'")


def test_the_record_looks_at_the_newest_delivered_films_only(studio, monkeypatch):
    monkeypatch.setattr(record, "NEWEST", 2)
    for number in range(3):
        delivered_film(f"CLAY{number}", 4)
    assert set(record.calibration(studio).films) == {"CLAY1", "CLAY2"}


def test_eight_films_that_ended_late_correct_the_forecast_and_say_so(film, studio, crew_client):
    before = days_left([film], studio, WEDNESDAY)[film.pk]
    for number in range(8):
        delivered_film(f"CLAY{number}", 1)  # promised one day, took two
    after = days_left([film], studio, WEDNESDAY)[film.pk]
    assert before.correction is None
    assert after.correction.shift > 1
    assert after.answer.days(0.5) > forecast(after.history, seed=0).days(0.5)
    promise = promises.promise_of(film.pk, after)
    assert promise.days_uncorrected[79] <= promise.days[79]
    shown = crew_client.get(reverse("shots:calibration")).content.decode()
    assert "too hopeful" in shown
    assert "So forecasts are corrected from it" in shown


def test_a_what_if_shows_the_odds_move_and_saves_nothing(film, crew_client):
    address = reverse("shots:what_if", args=["FELT"])
    page = crew_client.get(address, {"deadline": "2099-06-30"}, headers={"HX-Request": "true"})
    assert page.status_code == 200
    assert "Chance of the deadline" in page.content.decode()
    assert Production.objects.get().deadline == date(2026, 4, 30)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"helper_days": "-1"}, "helper_days"),
        ({"helper_days": "nan"}, "helper_days"),
        ({"hours_per_day": "25"}, "hours_per_day"),
        ({"deadline": "2001-01-01"}, "deadline"),
        ({"cut": "NOPE"}, "cut"),
        ({"exposure": "9"}, "exposure"),
    ],
)
def test_a_what_if_that_cannot_be_is_refused_at_its_field(film, owner_client, change, field):
    page = owner_client.get(reverse("shots:what_if", args=["FELT"]), change)
    assert page.status_code == 422
    assert field in page.context["what_if_form"].errors


def test_the_owner_saves_a_plan_and_takes_it_back(film, owner_client, crew_client):
    left = film.shots.get(status=Shot.Status.TO_SHOOT)
    plan = {"deadline": "2099-06-30", "exposure": "3", "read_version": "1"}
    save = reverse("shots:what_if_save", args=["FELT"])
    assert crew_client.post(save, plan).status_code == 403
    owner_client.post(save, plan)
    left.refresh_from_db()
    assert left.exposure == 3
    assert Production.objects.get().deadline == date(2099, 6, 30)
    page = owner_client.get(reverse("shots:film", args=["FELT"])).content.decode()
    token = page.split('name="undo" value="')[1].split('"')[0]
    owner_client.post(reverse("shots:what_if_undo", args=["FELT"]), {"undo": token})
    left.refresh_from_db()
    assert left.exposure == 2
    assert Production.objects.get().deadline == date(2026, 4, 30)


def test_a_cut_is_saved_and_not_undone_over_somebodys_later_change(film, owner_client):
    shot = film.shots.get(status=Shot.Status.TO_SHOOT)
    save = reverse("shots:what_if_save", args=["FELT"])
    owner_client.post(save, {"cut": shot.code, "deadline": "2099-06-30", "read_version": "1"})
    shot.refresh_from_db()
    assert shot.status == Shot.Status.CUT
    page = owner_client.get(reverse("shots:film", args=["FELT"])).content.decode()
    token = page.split('name="undo" value="')[1].split('"')[0]
    Shot.objects.filter(pk=shot.pk).update(status=Shot.Status.SHOOTING)
    undo = reverse("shots:what_if_undo", args=["FELT"])
    refused = owner_client.post(undo, {"undo": token}, follow=True).content.decode()
    assert "was changed since. Nothing was undone" in refused
    assert Production.objects.get().deadline == date(2099, 6, 30)
    forged = owner_client.post(undo, {"undo": f"x{token}"}, follow=True).content.decode()
    assert "no longer known" in forged


def test_a_plan_that_changes_nothing_is_not_saved(film, owner_client):
    save = reverse("shots:what_if_save", args=["FELT"])
    page = owner_client.post(save, {"exposure": "2", "helper_days": "1", "read_version": "1"})
    assert page.status_code == 422
    assert "the film stands so already" in page.content.decode()
    assert Production.objects.get().version == 1


def test_the_second_of_two_planners_is_told(film, owner_client):
    save = reverse("shots:what_if_save", args=["FELT"])
    owner_client.post(save, {"deadline": "2099-06-30", "read_version": "1"})
    late = owner_client.post(save, {"deadline": "2099-07-30", "read_version": "1"})
    assert late.status_code == 409
    assert Production.objects.get().deadline == date(2099, 6, 30)


def test_low_odds_are_said_on_today_with_what_could_be_done(film, owner_client):
    Production.objects.update(deadline=date(2026, 3, 5))
    page = owner_client.get("/").content.decode()
    assert "Needs a hand" in page
    assert "The Felt Fox:" in page


def test_the_command_answers_for_a_production_as_the_engine_does(film, studio, capsys):
    call_command("forecast", "--production", "felt", "--json")
    answer = json.loads(capsys.readouterr().out)
    today = studio.today(timezone.now())
    history = histories([film], studio, today)[film.pk]
    assert answer == json.loads(json.dumps(answer_to_json(forecast(history, seed=0))))


def test_the_command_refuses_a_code_that_is_none(studio):
    with pytest.raises(CommandError, match="No production has the code NOPE"):
        call_command("forecast", "--production", "NOPE")

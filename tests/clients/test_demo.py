"""The demo studio holds what a newcomer should see, and never touches a real studio."""

import io
from datetime import UTC, date, datetime

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from clients import demo_studio
from clients.management.commands.demo import Command as DemoCommand
from clients.models import Quote
from clients.services.quotes import accept_quote, send_quote
from shots.models import CallSheet, Production, Session, Shot
from studio.data_folder import keep_apart
from studio.models import Person, Studio

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 10, tzinfo=UTC)


@pytest.fixture
def demo(db):
    return demo_studio.fill(TODAY)


def test_demo_has_one_film_running_one_delivered_one_as_a_draft_of_a_quote(demo):
    stages = Production.objects.values_list("stage", flat=True)
    assert sorted(stages) == ["delivered", "running"]
    assert 20 <= Shot.objects.count() <= 30
    assert Quote.objects.get(status=Quote.Status.DRAFT).title == "A Paper Boat Goes to Sea"


def test_accepting_the_draft_opens_the_only_production_of_its_film(demo):
    draft = Quote.objects.get(status=Quote.Status.DRAFT)
    sent = send_quote(draft, demo, NOW, TODAY)
    film = accept_quote(sent, sent.options.first(), "Emre Işık", NOW, TODAY)
    assert Production.objects.filter(title=draft.title).get() == film
    assert film.shots.count() == 6
    assert film.setups.count() == 2


def test_the_running_film_is_about_half_shot_in_two_weeks_of_sessions(demo):
    fox = Production.objects.get(code="FOX")
    shots = fox.shots.with_counts()
    share = sum(shot.kept for shot in shots) / sum(shot.budget for shot in shots)
    assert 0.4 < share < 0.6
    assert Session.objects.filter(production=fox).count() == 10


def test_the_demo_stands_at_the_day_it_is_in_its_studio(db, monkeypatch):
    # Warsaw is two hours ahead of UTC in summer (IANA time zone database).
    night = datetime(2026, 7, 1, 22, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: night)
    DemoCommand(stdout=io.StringIO()).fill()
    assert CallSheet.objects.get().day == date(2026, 7, 2)


def test_every_demo_page_opens(demo, client):
    ida = Person.objects.get(sign_in_name=demo_studio.OWNER_SIGN_IN)
    client.force_login(ida, backend="django.contrib.auth.backends.ModelBackend")
    for address in ["/", "/productions/", "/productions/FOX/", "/quotes/"]:
        assert client.get(address).status_code == 200, address


def test_the_demo_keeps_apart_from_what_a_real_studio_put_elsewhere(tmp_path):
    of_the_studio = {
        "STILLCOUNT_DATA": "/studio", "DATABASE_URL": "postgres://db/studio",
        "STILLCOUNT_BACKUPS": "/stick", "STILLCOUNT_S3_BUCKET": "lamplight-table",
    }  # fmt: skip
    environment = of_the_studio | {"PATH": "/usr/bin"}
    keep_apart(environment, tmp_path)
    assert environment == {"STILLCOUNT_DATA": str(tmp_path), "PATH": "/usr/bin"}


def test_demo_refuses_any_folder_but_its_own(db):
    with pytest.raises(CommandError, match="its own folder"):
        call_command("demo", "--no-serve")
    assert not Studio.objects.exists()

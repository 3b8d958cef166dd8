"""The demo studio holds what a newcomer should see, and never touches a real studio."""

from datetime import date

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from clients import demo_studio
from shots.models import Production, Session, Shot
from studio.models import Person, Studio

TODAY = date(2026, 11, 25)


@pytest.fixture
def demo(db):
    return demo_studio.fill(TODAY)


def test_demo_has_one_film_running_one_at_quote_one_delivered(demo):
    assert sorted(Production.objects.values_list("stage", flat=True)) == [
        "delivered",
        "quoted",
        "running",
    ]
    assert 25 <= Shot.objects.count() <= 35


def test_the_running_film_is_about_half_shot_in_two_weeks_of_sessions(demo):
    fox = Production.objects.get(code="FOX")
    shots = fox.shots.with_counts()
    share = sum(shot.kept for shot in shots) / sum(shot.budget for shot in shots)
    assert 0.4 < share < 0.6
    assert Session.objects.filter(production=fox).count() == 10


def test_every_demo_page_opens(demo, client):
    ida = Person.objects.get(sign_in_name=demo_studio.OWNER_SIGN_IN)
    client.force_login(ida, backend="django.contrib.auth.backends.ModelBackend")
    for address in ["/", "/productions/", "/productions/FOX/", "/productions/BOAT/"]:
        assert client.get(address).status_code == 200, address


def test_demo_refuses_any_folder_but_its_own(db):
    with pytest.raises(CommandError, match="its own folder"):
        call_command("demo", "--no-serve")
    assert not Studio.objects.exists()

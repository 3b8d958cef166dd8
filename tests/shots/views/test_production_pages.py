"""The stage of a production: set by the owner, and never over somebody else's choice unseen."""

import pytest
from django.urls import reverse

from shots.models import Production
from tests import factories


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FELT", title="Felt", stage="running")


def set_stage(browser, seen: str, stage: str) -> str:
    address = reverse("shots:stage", args=["FELT"])
    return browser.post(address, {"seen": seen, "stage": stage}, follow=True).content.decode()


def test_a_film_is_said_to_be_delivered(film, owner_client):
    page = owner_client.get(reverse("shots:film", args=["FELT"])).content.decode()
    assert 'name="seen" value="running"' in page
    assert "Felt is now delivered." in set_stage(owner_client, "running", "delivered")
    after = Production.objects.get()
    assert (after.stage, after.version) == ("delivered", film.version + 1)


@pytest.mark.parametrize(
    ("seen", "stage", "said"),
    [
        ("at quote", "delivered", "Felt was set to running meanwhile"),
        ("", "delivered", "Felt was set to running meanwhile"),
        ("running", "cut", "Choose one of: at quote, running, delivered."),
    ],
)
def test_what_somebody_else_set_meanwhile_stands_and_is_said(film, owner_client, seen, stage, said):
    assert said in set_stage(owner_client, seen, stage)
    assert Production.objects.get().stage == "running"

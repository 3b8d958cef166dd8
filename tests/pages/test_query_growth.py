"""No page asks the database more for fifty productions than for one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clients import demo_studio
from clients.models import Commission
from studio.models import Person
from tests import factories

PAGES = [
    "/",
    "/productions/",
    "/productions/FELT/",
    "/productions/FELT/shots/",
    "/productions/FELT/setups/",
    "/productions/FELT/sessions/",
    "/productions/FELT/paperwork/",
    "/productions/FELT/deliverables/",
    "/clients/",
    "/deliveries/",
]


def add_film(code: str) -> None:
    """A film with a client, a set-up, two shots, a session, a call sheet and a deliverable."""
    film = factories.ProductionFactory(code=code)
    Commission.objects.create(production=film, client=factories.ClientFactory())
    setup = factories.SetupFactory(production=film)
    shot, _ = factories.ShotFactory.create_batch(2, production=film, setup=setup)
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shot)
    factories.CallSheetFactory(production=film)
    factories.DeliverableFactory(production=film)


def queries(browser, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert browser.get(address).status_code == 200
    return len(captured)


@pytest.mark.parametrize("address", PAGES)
def test_a_page_asks_the_same_of_the_database_for_1_and_for_50_productions(owner_client, address):
    add_film("FELT")
    owner_client.get(address)  # the first visitor of an evening keeps its promise
    one = queries(owner_client, address)
    for number in range(49):
        add_film(f"F{number}")
    owner_client.get(address)
    assert queries(owner_client, address) == one
    assert one <= 25


@pytest.mark.django_db
def test_a_full_today_asks_at_most_25_times(client):
    """With a film that runs, its call sheet of the day, older films and an overdue invoice."""
    demo_studio.fill(timezone.localdate())
    ida = Person.objects.get(sign_in_name=demo_studio.OWNER_SIGN_IN)
    client.force_login(ida, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get("/").content.decode()
    assert "were due on" in page
    assert "call-sheets/" in page
    assert queries(client, "/") <= 25

"""Lists that grow for ten years come a page at a time."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.models import Quote
from shots.models import Production
from tests import factories


def read(browser, address: str, page: int) -> str:
    return browser.get(address, {"page": page}).content.decode()


def films(count: int) -> None:
    """Delivered films, F00 the oldest, and one older still that is not delivered yet."""
    now = timezone.now()
    for n in range(count):
        film = factories.ProductionFactory(code=f"F{n:02}", title=f"Film {n:02}", stage="delivered")
        age = timedelta(days=count - n)
        Production.objects.filter(pk=film.pk).update(created_at=now - age)
    slow = factories.ProductionFactory(code="SLOW", title="The Slow One", stage="running")
    Production.objects.filter(pk=slow.pk).update(created_at=now - timedelta(days=999))


def test_productions_begin_with_what_is_not_delivered(owner_client):
    films(20)
    first, second = (read(owner_client, reverse("shots:productions"), n) for n in (1, 2))
    titles = re.findall(r"(The Slow One|Film \d\d)</a></h2>", first)
    assert titles == ["The Slow One", *(f"Film {n:02}" for n in range(19, 0, -1))]
    assert re.findall(r"(The Slow One|Film \d\d)</a></h2>", second) == ["Film 00"]
    assert "Page 1 of 2" in first
    assert "?page=1" in second


@pytest.mark.parametrize("page", [0, -1, 99, "x", ""])
def test_a_page_that_is_not_there_is_the_nearest(owner_client, page):
    films(1)
    answer = owner_client.get(reverse("shots:productions"), {"page": page})
    assert answer.status_code == 200
    assert "The Slow One" in answer.content.decode()


def test_quotes_and_deliveries_come_twenty_at_a_time(owner_client):
    client = factories.ClientFactory()
    for n in range(21):
        film = factories.ProductionFactory(code=f"F{n:02}", title=f"Film {n:02}")
        factories.DeliverableFactory(production=film)
        Quote.objects.create(client=client, title=f"Quote {n:02}", currency="EUR")
    for name, what in (("quotes", "Quote"), ("deliveries", "Film")):
        address = reverse(f"clients:{name}")
        first, second = read(owner_client, address, 1), read(owner_client, address, 2)
        assert len(set(re.findall(rf"{what} \d\d", first))) == 20
        assert set(re.findall(rf"{what} \d\d", second)) == {f"{what} 00"}


def test_the_clients_a_search_found_come_twenty_at_a_time_by_name(owner_client):
    for n in range(22):
        factories.ClientFactory(name=f"Fable {n:02}")
    factories.ClientFactory(name="Aardvark Books")
    page = owner_client.get(reverse("clients:clients"), {"q": "fable"}).content.decode()
    assert "22 of 23 clients found" in page
    assert 'href="?q=fable&amp;page=2">More<' in page
    assert re.findall(r"(\w+ \w+)</a></th>", page) == [f"Fable {n:02}" for n in range(20)]
    last = owner_client.get(reverse("clients:clients"), {"q": "fable", "page": 2}).content.decode()
    assert re.findall(r"(\w+ \w+)</a></th>", last) == ["Fable 20", "Fable 21"]


def test_the_pages_of_a_shots_pictures_keep_what_is_shown(owner_client):
    shot = factories.ShotFactory(production=factories.ProductionFactory(code="FELT"))
    for _ in range(201):
        factories.PictureFactory(shot=shot, is_flagged=True)
    address = reverse("shots:shot_pictures", args=["FELT", shot.pk])
    page = owner_client.get(address, {"show": "flagged", "page": 2}).content.decode()
    assert 'href="?show=flagged&amp;page=1">Earlier<' in page
    assert "Page 2 of 2" in page

"""Clients, the people there, and whom a production is made for."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import Client, Commission, Contact
from clients.queries.clients import client_of, client_page
from clients.services.clients import link_production
from shots.models import Production
from studio.errors import NotPossible
from tests import factories

LIST = "/clients/"
NEW = {"name": "Ωmega Tea Rooms", "currency": "eur", "payment_days": "30"}
FILM = {"title": "The Felt Fox", "code": "FELT", "rate": "24", "exposure": "2"}
# Invented names, in letters that go missing first.
NAMES = ["Ωmega Ξύλινη Κούκλα", "Войлочный Ёжик", "Zażółć Gęślą", "İğne Şapkalı", "紙のきつね工房"]


def words(response) -> str:
    return " ".join(response.content.decode().split())


def test_an_empty_list_says_what_to_do_next(owner_client):
    assert "Add the first, then open a production" in words(owner_client.get(LIST))


@pytest.mark.parametrize("name", NAMES)
def test_a_client_of_any_alphabet_is_added_and_found(owner_client, name):
    response = owner_client.post(f"{LIST}new/", NEW | {"name": name}, follow=True)
    assert name in words(response)
    assert Client.objects.get().currency == "EUR"
    found = owner_client.get(LIST, {"q": name.split()[-1].upper()})
    assert name in words(found)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "This field is required."),
        ("name", "N" * 201, "at most 200 characters"),
        ("currency", "XXZ", "“XXZ” is not an active currency code"),
        ("currency", "euro", "is not an active currency code"),
        ("payment_days", "-1", "cannot be negative"),
        ("payment_days", "366", "stop at 365 days"),
        ("payment_days", "soon", "whole days"),
        ("payment_days", "9" * 30, "stop at 365 days"),
    ],
)
def test_bad_input_is_answered_in_words_at_its_field(owner_client, field, value, sentence):
    response = owner_client.post(f"{LIST}new/", NEW | {field: value})
    assert response.status_code == 422
    assert sentence in " ".join(response.context["form"].errors[field])
    assert not Client.objects.exists()


@pytest.mark.parametrize(
    ("first", "second"), [("Omega", "OMEGA "), ("Ёжик", "ёжик"), ("ΟΔΟΣ", "οδος")]
)
def test_a_duplicate_name_is_refused_once_and_in_words(owner_client, first, second):
    factories.ClientFactory(name=first)
    response = owner_client.post(f"{LIST}new/", NEW | {"name": second})
    assert response.status_code == 422
    errors = response.context["form"].errors
    assert list(errors) == ["name"]
    assert len(errors["name"]) == 1
    assert f"a client called “{first}” already" in errors["name"][0]


def test_a_client_may_keep_its_own_name(owner_client):
    client = factories.ClientFactory(name="Omega")
    data = NEW | {"name": "OMEGA", "read_version": 1}
    assert owner_client.post(f"{LIST}{client.pk}/edit/", data).status_code == 302
    client.refresh_from_db()
    assert (client.name, client.version) == ("OMEGA", 2)


def test_two_people_editing_get_both_versions(owner_client):
    client = factories.ClientFactory(name="Omega", notes="first")
    address = f"{LIST}{client.pk}/edit/"
    data = NEW | {"name": "Omega", "read_version": 1}
    owner_client.post(address, data | {"notes": "theirs"})
    response = owner_client.post(address, data | {"notes": "mine"})
    assert response.status_code == 409
    page = words(response)
    assert "theirs" in page
    assert "mine" in page
    client.refresh_from_db()
    assert client.notes == "theirs"
    owner_client.post(address, data | {"notes": "mine", "read_version": 2})
    client.refresh_from_db()
    assert client.notes == "mine"


def test_archiving_offers_an_undo(owner_client):
    client = factories.ClientFactory(name="Omega")
    page = owner_client.post(f"{LIST}{client.pk}/archive/", follow=True)
    undo = reverse("clients:client_restore", args=[client.pk])
    assert "Omega was archived." in words(page)
    assert f'action="{undo}"' in words(page)
    assert owner_client.get(f"{LIST}{client.pk}/").status_code == 404
    owner_client.post(undo)
    assert owner_client.get(f"{LIST}{client.pk}/").status_code == 200


def test_an_archived_client_stays_away_where_another_has_the_name_by_now(owner_client):
    client = factories.ClientFactory(name="Omega")
    owner_client.post(f"{LIST}{client.pk}/archive/")
    factories.ClientFactory(name="omega")
    page = owner_client.post(f"{LIST}{client.pk}/restore/", follow=True)
    assert "a client called “omega” already" in words(page)
    assert Client.objects.current().count() == 1


def test_htmx_gets_the_rows_only_and_a_visitor_the_page(owner_client):
    factories.ContactFactory(client__name="Ωmega Tea", name="Emre Işık")
    factories.ClientFactory(name="Museum")
    part = owner_client.get(LIST, {"q": "isik"}, headers={"HX-Request": "true"})
    assert "<html" not in words(part)
    assert "1 of 2 clients found" in words(part)
    assert "<html" in words(owner_client.get(LIST, {"q": "isik"}))
    assert "No client, contact or note holds" in words(owner_client.get(LIST, {"q": "zz<b>"}))


def test_clients_stand_in_the_order_of_their_names(owner_client):
    for name in ["museum", "Ωmega", "Atelier", "ёжик", "Войлок"]:
        factories.ClientFactory(name=name)
    rows = owner_client.get(LIST).context["page"].rows
    assert [row.client.name for row in rows] == ["Atelier", "museum", "Ωmega", "Войлок", "ёжик"]


def test_a_contact_is_added_changed_removed_and_brought_back(owner_client):
    client = factories.ClientFactory()
    at = f"{LIST}{client.pk}/contacts/"
    refused = owner_client.post(f"{at}new/", {"name": "Noor", "email": "not-an-address"})
    assert refused.status_code == 422
    owner_client.post(f"{at}new/", {"name": "Łucja Żak", "email": "lucja@smallsounds.example"})
    contact = Contact.objects.get()
    owner_client.post(f"{at}{contact.pk}/", {"name": "Łucja Żak", "job": "Producer",
                                             "read_version": 1})  # fmt: skip
    late = owner_client.post(f"{at}{contact.pk}/", {"name": "Lucja", "read_version": 1})
    assert late.status_code == 409
    page = words(owner_client.post(f"{at}{contact.pk}/archive/", follow=True))
    assert "Łucja Żak was archived." in page
    owner_client.post(f"{at}{contact.pk}/restore/")
    assert client_page(client).contacts == (contact,)


def test_a_production_opened_from_the_clients_page_is_theirs(owner_client):
    client = factories.ClientFactory()
    response = owner_client.post(f"{LIST}{client.pk}/productions/new/", FILM)
    assert response.url == "/productions/FELT/deliverables/"
    assert client_of(Production.objects.get(code="FELT")) == client


def test_a_refused_production_leaves_nothing_behind(owner_client):
    client = factories.ClientFactory()
    response = owner_client.post(f"{LIST}{client.pk}/productions/new/", FILM | {"rate": "1/0"})
    assert response.status_code == 422
    assert not Production.objects.exists()
    assert not Commission.objects.exists()


def test_an_open_production_is_linked_and_only_once(owner_client):
    film = factories.ProductionFactory()
    first, second = factories.ClientFactory(), factories.ClientFactory()
    owner_client.post(f"{LIST}{first.pk}/productions/link/", {"production": film.pk})
    assert client_of(film) == first
    late = owner_client.post(f"{LIST}{second.pk}/productions/link/", {"production": film.pk})
    assert late.status_code == 422
    assert "has a client by now" in " ".join(late.context["link"].errors["production"])
    assert client_of(film) == first


def test_the_link_can_be_changed_and_taken_off(owner_client):
    commission = factories.CommissionFactory()
    film, other = commission.production, factories.ClientFactory()
    address = f"/productions/{film.code}/client/"
    owner_client.post(address, {"client": other.pk, "seen": commission.client.pk})
    assert client_of(film) == other
    owner_client.post(address, {"client": "", "seen": other.pk})
    assert client_of(film) is None


def test_a_link_changed_meanwhile_is_not_overwritten(owner_client):
    commission = factories.CommissionFactory()
    film, mine = commission.production, factories.ClientFactory()
    late = owner_client.post(
        f"/productions/{film.code}/client/", {"client": mine.pk, "seen": mine.pk}
    )
    assert late.status_code == 422
    assert f"linked it to {commission.client}" in " ".join(late.context["form"].errors["client"])
    # The page now knows what stands, so that saving again goes through.
    assert f'name="seen" value="{commission.client.pk}"' in words(late)
    with pytest.raises(NotPossible, match="linked it to"):
        link_production(film, mine, None)


def test_the_floor_never_shows_the_client(owner_client, crew_client):
    commission = factories.CommissionFactory(client__name="Secret Sponsor")
    code = commission.production.code
    for browser in (owner_client, crew_client):
        for address in ["/", "/productions/", f"/productions/{code}/"]:
            assert "Secret Sponsor" not in words(browser.get(address))
    assert "Deliverables" not in words(crew_client.get(f"/productions/{code}/"))


def test_the_list_takes_as_many_queries_for_many_clients_as_for_one(owner_client):
    factories.ContactFactory()
    with CaptureQueriesContext(connection) as one:
        owner_client.get(LIST)
    for _ in range(20):
        contact = factories.ContactFactory()
        factories.CommissionFactory(client=contact.client)
    with CaptureQueriesContext(connection) as many:
        owner_client.get(LIST)
    assert len(one) == len(many)

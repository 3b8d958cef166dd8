"""Getting in: the first run, signing in, and staying out."""

import pytest
from django.test import Client
from django.urls import reverse

from studio import data_folder
from studio.models import Person, Studio
from tests import factories

FIRST_RUN = {
    "name": "Lamplight Table",
    "currency": "EUR",
    "paper": "A4",
    "working_weekdays": ["0", "1", "2", "3", "4"],
    "hours_per_day": "7",
    "timezone": "Europe/Warsaw",
    "owner_name": "Ida Morrow",
    "owner_sign_in_name": "ida",
    "password": "felt and wire at dawn",
    "password_again": "felt and wire at dawn",
}


@pytest.fixture
def code(own_data_folder, settings) -> str:
    data_folder.prepare(settings.DATA_DIR)
    return data_folder.first_run_code(settings.DATA_DIR)


@pytest.mark.django_db
def test_every_page_leads_to_the_first_run_until_the_studio_is_open():
    response = Client().get("/")
    assert response.status_code == 302
    assert response.url == reverse("studio:first_run")


@pytest.mark.django_db
def test_the_first_run_opens_the_studio_and_signs_its_owner_in(code):
    browser = Client()
    response = browser.post(reverse("studio:first_run"), FIRST_RUN | {"code": code.lower()})
    assert response.status_code == 302
    assert Studio.objects.get().name == "Lamplight Table"
    assert Person.objects.get().is_owner
    assert browser.get("/").status_code == 200


@pytest.mark.django_db
@pytest.mark.parametrize("wrong", ["", "AAAAAAAAAAAA", "żółć"])
def test_the_first_run_needs_the_code_from_the_terminal(code, wrong):
    response = Client().post(reverse("studio:first_run"), FIRST_RUN | {"code": wrong})
    assert response.status_code == 422
    assert not Studio.objects.exists()


@pytest.mark.django_db
def test_the_first_run_is_closed_where_no_code_was_made():
    response = Client().post(reverse("studio:first_run"), FIRST_RUN | {"code": ""})
    assert response.status_code == 422


@pytest.mark.django_db
def test_the_first_run_works_once_only(code, settings):
    Client().post(reverse("studio:first_run"), FIRST_RUN | {"code": code})
    again = Client().post(
        reverse("studio:first_run"), FIRST_RUN | {"code": code, "owner_sign_in_name": "eve"}
    )
    assert again.status_code == 302
    assert again.url == reverse("studio:sign_in")
    assert Person.objects.count() == 1
    assert not (settings.DATA_DIR / data_folder.FIRST_RUN_FILE).exists()


def test_key_and_code_are_readable_by_their_owner_only(code, settings):
    for name in (data_folder.SECRET_KEY_FILE, data_folder.FIRST_RUN_FILE):
        assert (settings.DATA_DIR / name).stat().st_mode & 0o777 == 0o600


def test_preparing_again_keeps_the_key(settings):
    data_folder.prepare(settings.DATA_DIR)
    key = data_folder.secret_key(settings.DATA_DIR)
    data_folder.prepare(settings.DATA_DIR)
    assert data_folder.secret_key(settings.DATA_DIR) == key


def test_nobody_sees_a_page_without_signing_in(studio):
    response = Client().get("/")
    assert response.status_code == 302
    assert response.url.startswith(reverse("studio:sign_in"))


def test_the_right_password_signs_in(owner):
    response = Client().post(
        reverse("studio:sign_in"), {"username": "IDA", "password": factories.PASSWORD}
    )
    assert response.status_code == 302


def test_five_wrong_passwords_close_the_door_even_to_the_right_one(owner):
    browser = Client()
    for _ in range(5):
        response = browser.post(reverse("studio:sign_in"), {"username": "ida", "password": "no"})
    assert response.status_code == 429
    right = {"username": "ida", "password": factories.PASSWORD}
    assert browser.post(reverse("studio:sign_in"), right).status_code == 429


def test_somebody_without_a_sign_in_name_cannot_sign_in(studio):
    factories.PersonFactory(sign_in_name=None)
    response = Client().post(reverse("studio:sign_in"), {"username": "", "password": "x"})
    assert response.status_code == 422


@pytest.mark.parametrize("name", ["profile", "people", "person_new", "calendar"])
def test_crew_are_kept_off_the_studio_pages(crew_client, name):
    assert crew_client.get(reverse(f"studio:{name}")).status_code == 403

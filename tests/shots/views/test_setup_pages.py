"""Set-ups and their lock cards, page by page."""

import pytest

from shots.models import Setup
from tests import factories


@pytest.fixture
def production(studio):
    return factories.ProductionFactory(code="FELT")


def card(**fields) -> dict:
    return {"code": "S01", "name": "Kitchen, wide", "lamps": "", "read_version": 0} | fields


def test_crew_adds_a_set_up_with_its_whole_lock_card(crew_client, production):
    response = crew_client.post(
        "/productions/FELT/setups/new/",
        card(
            camera="Body A", focal_length_mm="35", aperture="5.6", shutter="1/4", iso="100",
            white_balance_k="3200", focus_distance="62 cm", lamps="Key 650 W\r\nFill 300",
        ),
    )  # fmt: skip
    assert response.status_code == 302
    setup = Setup.objects.get()
    assert setup.lamp_watts == 950
    page = crew_client.get(f"/productions/FELT/setups/{setup.pk}/").content.decode()
    for said in (
        "Body A", "35 mm", "f/5.6", "1/4 s", "ISO 100", "3200 K", "62 cm", "Key 650 W",
        "950 W draw 4.1 A", "licensed electrician",
    ):  # fmt: skip
        assert said in page


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"code": ""}, "This field is required"),
        ({"code": "a b"}, "letters A–Z"),
        ({"lamps": "Key"}, "write it as Key 650 W"),
        ({"focal_length_mm": "0"}, "greater than or equal to 0.1"),
        ({"iso": "-1"}, "greater than or equal to"),
        ({"white_balance_k": "99999999999999999999"}, "less than or equal to"),
        ({"aperture": "wide"}, "Enter a number"),
    ],
)
def test_a_bad_card_is_answered_at_its_field(owner_client, production, fields, says):
    response = owner_client.post("/productions/FELT/setups/new/", card(**fields))
    assert response.status_code == 422
    assert says in response.content.decode()
    assert not Setup.objects.exists()


def test_a_code_in_use_is_refused_whatever_its_capitals(owner_client, production):
    factories.SetupFactory(production=production, code="S01")
    response = owner_client.post("/productions/FELT/setups/new/", card(code="s01"))
    assert response.status_code == 422
    assert "has that code" in response.content.decode()


def test_the_second_of_two_editors_sees_both_versions(owner_client, crew_client, production):
    setup = factories.SetupFactory(production=production, code="S01", name="Kitchen, wide")
    address = f"/productions/FELT/setups/{setup.pk}/edit/"
    first = owner_client.post(address, card(lamps="Key 650 W", read_version=1))
    assert first.status_code == 302
    second = crew_client.post(address, card(lamps="Key 300 W", iso="100", read_version=1))
    page = second.content.decode()
    assert second.status_code == 409
    assert "Key 650 W" in page
    assert "Key 300 W" in page
    assert setup.lamps.get().watts == 650
    version = second.context["form"]["read_version"].value()
    third = crew_client.post(address, card(lamps="Key 300 W", iso="100", read_version=version))
    assert third.status_code == 302
    assert setup.lamps.get().watts == 300


def test_an_archived_set_up_comes_back_unless_its_code_is_taken(owner_client, production):
    setup = factories.SetupFactory(production=production, code="S01")
    address = f"/productions/FELT/setups/{setup.pk}/"
    owner_client.post(address + "archive/")
    assert not Setup.objects.current().exists()
    other = factories.SetupFactory(production=production, code="s01")
    response = owner_client.post(address + "restore/", follow=True)
    assert "has that code" in response.content.decode()
    other.delete()
    owner_client.post(address + "restore/")
    assert Setup.objects.current().get() == setup


def test_queries_do_not_grow_with_set_ups(owner_client, production, django_assert_max_num_queries):
    def fill(count: int) -> None:
        for _ in range(count):
            setup = factories.SetupFactory(production=production)
            setup.lamps.create(name="Key", watts=650)
            factories.ShotFactory(production=production, setup=setup)

    fill(1)
    with django_assert_max_num_queries(50) as one:
        owner_client.get("/productions/FELT/setups/")
    fill(20)
    with django_assert_max_num_queries(50) as many:
        owner_client.get("/productions/FELT/setups/")
    assert len(many) == len(one)

"""The floor's two lists: what a reader changed is written, and nothing else."""

from decimal import Decimal

import pytest

from shots.models import Difficulty, PreShootCheck
from shots.services.floor import lay_out_lists
from tests.rows_sent import rows_sent

ADDRESS = "/studio/lists/"


@pytest.fixture
def page(owner_client) -> dict:
    """What a browser would send of the page, as it was when it was read."""
    lay_out_lists(sender=None)
    context = owner_client.get(ADDRESS).context
    return rows_sent(context["difficulties"], context["checks"])


def paces() -> list[Decimal]:
    return list(Difficulty.objects.values_list("pictures_per_hour", flat=True))


def test_a_change_is_saved(owner_client, page):
    answer = owner_client.post(ADDRESS, page | {"difficulty-0-pictures_per_hour": "18"})
    assert answer.status_code == 302
    assert paces() == [18, 12, 6]


def test_a_row_somebody_changed_meanwhile_keeps_their_change(owner_client, page):
    Difficulty.objects.filter(name="easy").update(pictures_per_hour=25)
    PreShootCheck.objects.filter(position=0).update(text="Tripod fastened")
    owner_client.post(ADDRESS, page | {"difficulty-1-pictures_per_hour": "11"})
    assert paces() == [25, 11, 6]
    assert PreShootCheck.objects.first().text == "Tripod fastened"


def test_another_field_of_the_same_row_keeps_their_change_too(owner_client, page):
    Difficulty.objects.filter(name="easy").update(pictures_per_hour=25)
    owner_client.post(ADDRESS, page | {"difficulty-0-name": "very easy"})
    assert Difficulty.objects.filter(name="very easy", pictures_per_hour=25).exists()


def test_two_who_change_the_same_see_it_and_choose(owner_client, page):
    Difficulty.objects.filter(name="easy").update(pictures_per_hour=25)
    sent = page | {"difficulty-0-pictures_per_hour": "18"}
    answer = owner_client.post(ADDRESS, sent)
    assert answer.status_code == 422
    assert "Somebody wrote 25.00 here meanwhile" in answer.content.decode()
    assert paces() == [25, 12, 6]
    [bound] = [one for one in answer.context["difficulties"][0] if one.name == "pictures_per_hour"]
    assert 'value="25.00"' in bound.as_hidden(only_initial=True)
    assert owner_client.post(ADDRESS, sent | {bound.html_initial_name: "25.00"}).status_code == 302
    assert paces() == [18, 12, 6]

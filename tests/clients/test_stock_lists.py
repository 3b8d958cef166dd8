"""Day rates and lines in stock: two who edit them at once lose nothing."""

from decimal import Decimal

import pytest

from clients.models import DayRate, LineTemplate
from tests.rows_sent import rows_sent

ADDRESS = "/quotes/stock/"


@pytest.fixture
def page(owner_client, owner) -> dict:
    DayRate.objects.create(person=owner, rate=300)
    for label in ("Puppet", "Felt"):
        LineTemplate.objects.create(
            label=label, kind="builds", basis="fixed amount", rate=100, tax_rate=20
        )
    context = owner_client.get(ADDRESS).context
    return rows_sent(context["rates"], context["lines"])


def test_a_change_is_saved_and_the_other_rows_keep_what_others_wrote(owner_client, page):
    LineTemplate.objects.filter(label="Puppet").update(rate=150, usual=True)
    answer = owner_client.post(ADDRESS, page | {"line-1-rate": "120", "rate-0-rate": "320"})
    assert answer.status_code == 302
    assert list(LineTemplate.objects.values_list("rate", "usual")) == [(150, True), (120, False)]
    assert DayRate.objects.get().rate == Decimal(320)


def test_two_who_change_the_same_rate_see_it(owner_client, page):
    DayRate.objects.update(rate=350)
    answer = owner_client.post(ADDRESS, page | {"rate-0-rate": "320"})
    assert answer.status_code == 422
    assert "Somebody wrote 350.0000 here meanwhile" in answer.content.decode()
    assert DayRate.objects.get().rate == 350

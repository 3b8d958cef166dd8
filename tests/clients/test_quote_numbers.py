"""Numbers are gap-free when many send at once. Gaps would have to be explained to a tax office."""

import pytest

from clients.models import Quote, SentQuote
from clients.services import quotes as services
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.quote_cast import NOW, TODAY, drafted, with_lists

WRITERS = 20


@pytest.mark.django_db(transaction=True)
def test_twenty_who_send_at_once_get_twenty_numbers_without_a_gap(studio, owner):
    client = with_lists(factories.ClientFactory())
    drafts = [drafted(client, owner, title=f"Film {n}") for n in range(WRITERS)]
    at_the_same_moment(
        *(lambda draft=draft: services.send_quote(draft, studio, NOW, TODAY) for draft in drafts)
    )
    numbers = Quote.objects.filter(status="sent").values_list("number", flat=True)
    assert sorted(numbers) == list(range(1, WRITERS + 1))
    assert SentQuote.objects.count() == WRITERS

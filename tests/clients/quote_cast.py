"""A drafted quote, and what its builder page would post."""

from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction

from clients.forms.quote import Builder
from clients.models import Client, Quote
from clients.queries import quotes as queries
from clients.services import quote_drafts
from clients.trade.quoting.option import Option, Sequence
from shots.services.floor import lay_out_lists
from studio.models import Person

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)


def film(seconds="30", difficulty="easy", setups=1, **more) -> Option:
    """An option of one sequence, on twos at 24."""
    sequence = Sequence("The film", Decimal(seconds), 2, difficulty, setups=setups, **more)
    return Option("The film", Fraction(24), (sequence,))


def drafted(
    client: Client, animator: Person, title="The Felt Fox", option=None, tax="0", day_rate="300"
) -> Quote:
    """A quote with the lines every first quote has."""
    fields = {
        "title": title,
        "first_day": date(2026, 4, 1),
        "tax_rate": Decimal(tax),
        "day_rate": Decimal(day_rate),
    }
    quote = quote_drafts.start_quote(client, fields, option or film(), animator)
    return queries.quote_with_parts(quote.pk)


def with_lists(client: Client) -> Client:
    """A client of a studio that has its difficulties."""
    lay_out_lists(sender=None)
    return client


def builder_data(quote: Quote, **changes) -> dict:
    """What the builder page would post for a quote as it stands."""
    return Builder(queries.quote_with_parts(quote.pk)).entries | changes

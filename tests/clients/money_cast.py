"""A film whose quote was accepted: what change orders and invoices begin with."""

from decimal import Decimal
from fractions import Fraction

from clients.models import Client, Quote
from clients.queries import quotes as queries
from clients.services import quotes
from clients.trade.quoting.lines import Basis, Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from shots.models import Production
from studio.models import Person, Studio
from tests.clients.quote_cast import NOW, TODAY, drafted


def two_shots() -> Option:
    """Twenty easy seconds on twos at 24, in two set-ups: shots 010 and 020 of ten seconds."""
    film = Sequence("The film", Decimal(20), 2, "easy", setups=2)
    return Option("The film", Fraction(24), (film,))


def accepted_film(
    client: Client, owner: Person, studio: Studio, title="The Felt Fox", tax="20"
) -> Production:
    """A production of a quote sent and accepted; 40 % on acceptance, 40 % later, the rest."""
    quote = drafted(client, owner, title=title, option=two_shots(), tax=tax)
    sent = quotes.send_quote(quote, studio, NOW, TODAY)
    return quotes.accept_quote(sent, sent.options.first(), "Noor Haddad", NOW, TODAY)


def quote_of(production: Production) -> Quote:
    """The quote a production was accepted with."""
    return queries.quote_with_parts(Quote.objects.get(production=production).pk)


def fixed(label: str, amount: str, tax: str = "0") -> Line:
    """A line of a fixed amount."""
    return Line(label, LineKind.OTHER, Basis.FIXED, Decimal(amount), tax_rate=Decimal(tax))

"""Figures of the desk for `manage.py bench`."""

from decimal import Decimal
from fractions import Fraction
from urllib.parse import urlencode

from django.urls import reverse

from clients.forms.quote import Builder
from clients.models import Client, Quote
from clients.queries import quotes as queries
from clients.services import quote_drafts
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.option import Option, Sequence
from studio.benchmarks import Bench, Figure, Row, milliseconds
from studio.models import Person


def price_quote(bench: Bench) -> Figure:
    """A key typed in a quote of 4 options of 40 sequences: read, forecast, priced, drawn."""
    quote = _quote_of_four_options()
    address = reverse("clients:quote_price", args=[quote.pk])
    typed = urlencode(_as_typed(quote))

    def price():
        answer = bench.browser.post(
            address, typed, "application/x-www-form-urlencoded", headers={"HX-Request": "true"}
        )
        assert b"Option 4" in answer.content, "The quote was not priced."

    return Figure(milliseconds(price), aim="under 100")


def _quote_of_four_options() -> Quote:
    sequences = tuple(
        Sequence(f"Sequence {n}", Decimal("3.5"), 1 + n % 2, ("easy", "medium", "hard")[n % 3])
        for n in range(40)
    )
    options = tuple(Option(f"Option {n}", Fraction(23 + n), sequences) for n in range(1, 5))
    fields = {
        "title": "Four ways", "first_day": None, "tax_rate": Decimal(20), "day_rate": Decimal(300),
    }  # fmt: skip
    quote = quote_drafts.start_quote(
        Client.objects.first(), fields, options[0], Person.objects.get(role=Person.Role.OWNER)
    )
    draft = queries.draft_of(quote)
    whole = Draft(options, draft.lines, draft.payments, draft.currency)
    return quote_drafts.save_draft(quote, quote.version, {}, whole)


def _as_typed(quote: Quote) -> dict[str, str]:
    """What the builder's page posts."""
    builder = Builder(queries.quote_with_parts(quote.pk))
    typed = {field.html_name: field.value() or "" for field in builder.form}
    for row in builder.sheet.rows:
        typed |= {f"{row.prefix}-{name}": text for name, text in row.texts.items()}
    return typed


ROWS: dict[str, Row] = {"a quote of 4 options of 40 sequences, priced": price_quote}

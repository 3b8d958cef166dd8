"""A whole quote priced: options side by side, lines of one option, and what always holds."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from clients.trade.differences import compare
from clients.trade.payment import PaymentPart
from clients.trade.quoting.draft import Draft, DraftLine, DraftPart, Offer, price_draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, LineKind
from tests.clients.trade.films import EVERY_KIND_OF_LINE, FILM, PACE, line

D = Decimal
PLAN = (
    DraftPart(PaymentPart("on acceptance", percent=D(30))),
    DraftPart(PaymentPart("on delivery"), date(2026, 5, 1)),
)


def forecast_of_two_weeks(hours: Mapping[str, float], setups: int) -> SimpleNamespace:
    """The same days whatever the work, so that prices can be worked by hand."""
    return SimpleNamespace(
        quote_sessions={0.5: 14, 0.8: 18, 0.95: 25},
        finish_dates={0.5: date(2026, 3, 20), 0.8: date(2026, 3, 26), 0.95: date(2026, 4, 7)},
    )


def whole(**changes) -> Draft:
    lines = tuple(DraftLine(one) for one in EVERY_KIND_OF_LINE)
    return replace(Draft((FILM,), lines, PLAN, "EUR"), **changes)


def priced_whole(**changes) -> tuple[Offer, ...]:
    return price_draft(whole(**changes), PACE, forecast_of_two_weeks)


def test_the_finish_promised_is_the_one_at_the_confidence_chosen():
    (offer,) = priced_whole(confidence=0.95)
    assert (offer.finish, offer.finish_even) == (date(2026, 4, 7), date(2026, 3, 20))


def test_a_line_of_one_option_prices_that_option_only():
    extra = DraftLine(line("Second fox", LineKind.BUILDS, Basis.FIXED, D(100)), option=1)
    short = replace(FILM, label="Short")
    first, second = priced_whole(
        options=(FILM, short), lines=(*(DraftLine(one) for one in EVERY_KIND_OF_LINE[:-1]), extra)
    )
    assert second.priced.totals.net - first.priced.totals.net == 100
    assert first.difference == ""
    assert "0 days more" in second.difference


def test_a_quote_without_options_is_refused():
    with pytest.raises(QuoteError, match="has no options"):
        priced_whole(options=())


amounts = some.decimals(min_value=0, max_value=100_000, places=2)
fixed_lines = some.lists(
    some.builds(
        lambda amount, tax, hidden, kind: DraftLine(
            line("Line", kind, Basis.FIXED, amount, tax_rate=tax, hidden=hidden)
        ),
        amounts,
        some.sampled_from([D(0), D("5.5"), D(8), D(23)]),
        some.booleans(),
        some.sampled_from([LineKind.BUILDS, LineKind.SOUND, LineKind.MATERIALS, LineKind.OTHER]),
    ),
    min_size=1,
    max_size=12,
)
plans = some.lists(some.integers(1, 50), min_size=1, max_size=5).filter(lambda x: sum(x) <= 100)


@settings(deadline=None)
@given(fixed_lines, plans)
def test_parts_and_visible_lines_always_add_up(lines, percents):
    plan = [DraftPart(PaymentPart("then", percent=D(one))) for one in percents]
    plan.append(DraftPart(PaymentPart("the rest")))
    (offer,) = priced_whole(lines=tuple(lines), payments=tuple(plan))
    totals = offer.priced.totals
    assert sum(offer.payments) == totals.gross
    assert sum(one.amount for one in offer.shown) == totals.net
    assert totals.net + sum(part.tax for part in totals.taxes) == totals.gross


@settings(deadline=None)
@given(fixed_lines)
def test_hiding_lines_never_changes_the_total(lines):
    open_lines = tuple(DraftLine(replace(one.line, hidden=False)) for one in lines)
    (hidden,), (shown,) = priced_whole(lines=tuple(lines)), priced_whole(lines=open_lines)
    assert hidden.priced.totals == shown.priced.totals


@settings(deadline=None)
@given(fixed_lines)
def test_a_revision_without_a_change_has_no_difference(lines):
    (one,), (other,) = priced_whole(lines=tuple(lines)), priced_whole(lines=tuple(lines))
    found = compare(one.priced, other.priced)
    assert (found.lines, found.sequences, found.totals.gross) == ((), (), 0)

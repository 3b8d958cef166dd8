"""A whole quote priced at once: every option with its days, lines, payments and sentences."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clients.trade.payment import PaymentPart, payment_amounts
from clients.trade.quoting.backwards import one_more_second, usual_exposure
from clients.trade.quoting.client_view import ClientLine, client_lines
from clients.trade.quoting.days import Forecasts, sessions_by
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Line
from clients.trade.quoting.option import Option
from clients.trade.quoting.pricing import USUAL_CONFIDENCE, PricedOption, price_option
from clients.trade.quoting.sentences import assumptions, option_difference


@dataclass(frozen=True)
class Draft:
    """What a quote says before it is priced. Lines and payments hold for every option."""

    options: tuple[Option, ...]
    lines: tuple[Line, ...]
    payments: tuple[PaymentPart, ...]
    currency: str
    confidence: float = USUAL_CONFIDENCE
    revision_rounds: int = 2


@dataclass(frozen=True)
class Offer:
    """One option priced. `finish` is the last shooting day at the confidence chosen, if there is
    one; `payments` stand in the order of the draft's parts; `more` is the price of one more second
    before tax, by difficulty; `difference` is against the first option."""

    priced: PricedOption
    shown: tuple[ClientLine, ...]
    finish: date | None
    payments: tuple[Decimal, ...]
    more: Mapping[str, Decimal]
    assumptions: tuple[str, ...]
    difference: str = ""

    @property
    def label(self) -> str:
        return self.priced.option.label


def price_draft(
    draft: Draft, pace: Mapping[str, Decimal], forecasts: Forecasts
) -> tuple[Offer, ...]:
    """Price every option. `pace` is pictures an hour by difficulty. Raises QuoteError."""
    if not draft.options:
        raise QuoteError("options", "The quote has no options: add one with its sequences.")
    offers = tuple(_offer(option, draft, pace, forecasts) for option in draft.options)
    first = offers[0].priced
    return offers[:1] + tuple(
        Offer(**(vars(offer) | {"difference": option_difference(first, offer.priced)}))
        for offer in offers[1:]
    )


def _offer(
    option: Option, draft: Draft, pace: Mapping[str, Decimal], forecasts: Forecasts
) -> Offer:
    priced = price_option(
        option,
        draft.lines,
        pace,
        sessions_by(forecasts),
        currency=draft.currency,
        confidence=draft.confidence,
    )
    answer = forecasts(priced.work.float_hours, priced.work.setups)
    gross = priced.totals.gross
    return Offer(
        priced=priced,
        shown=client_lines(priced.lines),
        finish=answer.finish_dates.get(draft.confidence),
        payments=payment_amounts(gross, draft.payments, draft.currency) if draft.payments else (),
        more=one_more_second(priced, pace, usual_exposure(option)),
        assumptions=assumptions(priced, draft.revision_rounds),
    )

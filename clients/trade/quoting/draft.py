"""A whole quote priced at once: every option with its days, lines, payments and sentences."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
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
class DraftLine:
    """A price line, and the option it is for by its place; None is every option."""

    line: Line
    option: int | None = None


@dataclass(frozen=True)
class DraftPart:
    """A part of the payment plan, and the date it falls due on where it has one."""

    part: PaymentPart
    due_on: date | None = None


@dataclass(frozen=True)
class Draft:
    """What a quote says before it is priced. Payments hold for every option."""

    options: tuple[Option, ...]
    lines: tuple[DraftLine, ...]
    payments: tuple[DraftPart, ...]
    currency: str
    confidence: float = USUAL_CONFIDENCE
    revision_rounds: int = 2

    def lines_of(self, option: int) -> tuple[Line, ...]:
        """The lines that price the option at this place."""
        return tuple(one.line for one in self.lines if one.option in (None, option))


@dataclass(frozen=True)
class Offer:
    """One option priced.

    `dates` are the last shooting days by chance, `finish` the one at the confidence chosen;
    `payments` stand in the order of the draft's parts; `more` is the price of one more second
    before tax, by difficulty; `pace` is pictures an hour as priced; `difference` is against the
    first option.
    """

    priced: PricedOption
    shown: tuple[ClientLine, ...]
    dates: Mapping[float, date | None]
    payments: tuple[Decimal, ...]
    more: Mapping[str, Decimal]
    pace: Mapping[str, Decimal]
    assumptions: tuple[str, ...]
    difference: str = ""

    @property
    def label(self) -> str:
        return self.priced.option.label

    @property
    def hours(self) -> float:
        """Hours of animation at the pace."""
        return float(self.priced.work.hours)

    @property
    def finish(self) -> date | None:
        return self.dates.get(self.priced.days.confidence)

    @property
    def finish_even(self) -> date | None:
        return self.dates.get(0.5)


def price_draft(
    draft: Draft, pace: Mapping[str, Decimal], forecasts: Forecasts
) -> tuple[Offer, ...]:
    """Price every option. `pace` is pictures an hour by difficulty. Raises QuoteError."""
    if not draft.options:
        raise QuoteError("options", "The quote has no options: add one with its sequences.")
    offers = [_offer(place, draft, pace, forecasts) for place in range(len(draft.options))]
    first = offers[0].priced
    return (
        offers[0],
        *(
            replace(offer, difference=option_difference(first, offer.priced))
            for offer in offers[1:]
        ),
    )


def _offer(place: int, draft: Draft, pace: Mapping[str, Decimal], forecasts: Forecasts) -> Offer:
    option = draft.options[place]
    priced = price_option(
        option,
        draft.lines_of(place),
        pace,
        sessions_by(forecasts),
        currency=draft.currency,
        confidence=draft.confidence,
    )
    parts = [one.part for one in draft.payments]
    gross = priced.totals.gross
    return Offer(
        priced=priced,
        shown=client_lines(priced.lines),
        dates=forecasts(priced.work.float_hours, priced.work.setups).finish_dates,
        payments=payment_amounts(gross, parts, draft.currency) if parts else (),
        more=one_more_second(priced, pace, usual_exposure(option)),
        pace=pace,
        assumptions=assumptions(priced, draft.revision_rounds),
    )

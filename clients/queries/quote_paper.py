"""What prints on a quote, in the client's language."""

from datetime import date
from decimal import Decimal

from clients.documents.money_tables import PriceRow
from clients.documents.quote import QuotedOption, QuotePaper
from clients.models import Quote
from clients.queries.money_text import day, money, number
from clients.queries.paper_rows import price_row, receiver, sender, sum_rows, text_lines
from clients.trade.payment import PaymentPart
from clients.trade.quoting.client_view import ClientLine
from clients.trade.quoting.draft import DraftPart, Offer
from studio.models import Studio
from studio.trade.timecode import rate_label, seconds_and_frames


def quote_paper(
    quote: Quote,
    offers: tuple[Offer, ...],
    plan: tuple[DraftPart, ...],
    studio: Studio,
    today: date,
    valid_until: date,
) -> QuotePaper:
    """Everything that prints on the quote, in the client's language."""
    language = quote.language
    first = offers[0]
    return QuotePaper(
        number=quote.reference or "draft",
        revision=quote.revision,
        title=quote.title,
        film=quote.film or _film_sentence(offers),
        date=day(today, language),
        valid_until=day(valid_until, language),
        sender=sender(studio),
        receiver=receiver(quote.client),
        included=text_lines(quote.included),
        options=tuple(_quoted(offer, quote, plan, alone=len(offers) == 1) for offer in offers),
        dates=_dates(quote, first) if len(offers) == 1 else (),
        changes=tuple(
            (name, money(cost, quote.currency, language)) for name, cost in first.more.items()
        ),
        tax_note=quote.tax_note,
        paper=studio.paper,
        language=language.split("_")[0],
    )


def _film_sentence(offers: tuple[Offer, ...]) -> str:
    if len(offers) > 1:
        return f"A film animated by hand, in {len(offers)} options to choose from."
    option = offers[0].priced.option
    length = seconds_and_frames(option.frames, option.rate)
    return f"A film of {length} at {rate_label(option.rate)} frames a second, animated by hand."


def _dates(quote: Quote, offer: Offer) -> tuple[tuple[str, str], ...]:
    if quote.first_day is None:
        return ()
    rows = [("First shooting day", day(quote.first_day, quote.language))]
    if offer.finish:
        rows.append(("Shooting finished by", day(offer.finish, quote.language)))
    return tuple(rows)


def _quoted(offer: Offer, quote: Quote, plan: tuple[DraftPart, ...], alone: bool) -> QuotedOption:
    priced, language = offer.priced, quote.language
    option = priced.option

    def row(line: ClientLine) -> PriceRow:
        return price_row(line, quote.currency, language)

    return QuotedOption(
        label=offer.label,
        length=seconds_and_frames(option.frames, option.rate),
        pictures=number(Decimal(priced.work.pictures), language),
        days=str(priced.days.chosen),
        finish=day(offer.finish, language) if quote.first_day else "",
        total=money(priced.totals.gross, quote.currency, language),
        # A line that came to nothing says nothing to the client.
        lines=tuple(row(line) for line in offer.shown if line.amount and not line.optional),
        # Side by side, taxes of one rate share a row whatever they are on.
        sums=sum_rows(priced.totals, language, "Price", bases=alone),
        extras=tuple(row(line) for line in offer.shown if line.optional),
        difference=offer.difference,
        payments=tuple(
            (_due(one, language), _share(one.part, language), money(due, quote.currency, language))
            for one, due in zip(plan, offer.payments, strict=True)
        ),
        assumptions=offer.assumptions,
    )


def _due(one: DraftPart, language: str) -> str:
    when = day(one.due_on, language)
    return f"{one.part.milestone}, {when}" if when else one.part.milestone


def _share(part: PaymentPart, language: str) -> str:
    return f"{number(part.percent, language)} %" if part.percent is not None else ""

"""What the quote pages show: a quote as it is stored, priced, listed and compared."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from django.core.paginator import Page, Paginator
from django.db.models import Prefetch

from clients.documents.quote import QuotePaper
from clients.models import DayRate, LineTemplate, Quote, QuoteOption, QuoteSequence, SentQuote
from clients.trade.differences import Comparison, compare
from clients.trade.earnings import NextPace, next_paces
from clients.trade.frozen import thaw
from clients.trade.payment import PaymentPart
from clients.trade.quoting.days import Forecasts, an_hour_of_each, expected_pace, forecasts_of
from clients.trade.quoting.days import Studio as StudioSoFar
from clients.trade.quoting.draft import Draft, DraftLine, DraftPart, Offer, price_draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, Licence, Line, LineKind, PricedLine
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.pricing import EVEN_CHANCE
from clients.trade.quoting.spread import Spread, spread_of
from clients.trade.quoting.three_point import ThreePoint
from shots.queries.history import finished_productions
from shots.queries.measured_pace import assumed_paces, recent_paces
from shots.queries.remembered import remembered
from shots.trade.forecast import forecast
from studio.models import Studio
from studio.queries import work_calendar


@dataclass(frozen=True)
class PaceBehind:
    """The pace of one difficulty: what stands behind it, and what the forecast makes of it."""

    next: NextPace
    expected: float


@dataclass(frozen=True)
class Evidence:
    """What a price rests on: the pace to assume, where it comes from, and the forecast."""

    paces: tuple[PaceBehind, ...]
    forecasts: Forecasts
    past: int

    @property
    def pace(self) -> Mapping[str, Decimal]:
        return {one.next.difficulty: one.next.pace for one in self.paces}


def evidence(studio: Studio, first_day: date | None, today: date) -> Evidence:
    """The studio's own measured pace, and the owner's assumption where little is known."""
    assumed = assumed_paces()
    paces = next_paces(recent_paces(assumed), assumed)
    pace = {one.difficulty: float(one.pace) for one in paces}
    # What was measured is in that pace already. So the finished films tell the forecast how far
    # this pace was off for them, not how far the owner's first assumption was.
    past = finished_productions(studio, today, pace)
    so_far = StudioSoFar(
        pace=pace,
        day_before=(first_day or today) - timedelta(days=1),
        calendar=work_calendar(studio, min(first_day or today, today)),
        past=past,
    )
    expected = remembered(expected_pace, an_hour_of_each(so_far)) if pace else {}
    return Evidence(
        paces=tuple(PaceBehind(one, expected[one.difficulty]) for one in paces),
        forecasts=forecasts_of(so_far, ask=partial(remembered, forecast)),
        past=len(past),
    )


def quote_with_parts(pk: int) -> Quote | None:
    """A quote with everything that stands in it, in a fixed number of queries."""
    sequences = Prefetch("sequences", QuoteSequence.objects.select_related("difficulty"))
    options = Prefetch("options", QuoteOption.objects.prefetch_related(sequences))
    rows = Quote.objects.select_related("client", "replaces", "production", "acceptance__option")
    return rows.prefetch_related(options, "lines", "payments").filter(pk=pk).first()


def draft_of(quote: Quote) -> Draft:
    """What the quote says, ready to be priced. Raises QuoteError for what cannot be."""
    places = {option.pk: place for place, option in enumerate(quote.options.all())}
    return Draft(
        options=tuple(
            Option(
                label=option.label,
                rate=option.rate,
                runtime=option.runtime,
                sequences=tuple(_sequence_of(row) for row in option.sequences.all()),
            )
            for option in quote.options.all()
        ),
        lines=tuple(
            DraftLine(line_of(vars(row)), places.get(row.option_id)) for row in quote.lines.all()
        ),
        payments=tuple(
            DraftPart(PaymentPart(row.milestone, row.percent, row.amount), row.due_on)
            for row in quote.payments.all()
        ),
        currency=quote.currency,
        confidence=quote.confidence / 100,
        revision_rounds=quote.revision_rounds,
    )


def _sequence_of(row: QuoteSequence) -> Sequence:
    names = (
        "label", "seconds", "exposure", "held_seconds", "holds", "reused_seconds", "handles",
        "setups", "characters",
    )  # fmt: skip
    return Sequence(difficulty=row.difficulty.name, **{name: getattr(row, name) for name in names})


def line_of(values: Mapping) -> Line:
    """A price line from the values of a row, stored or typed. Raises QuoteError."""
    kind = LineKind(values["kind"])
    quantity = values["quantity"]
    if values["quantity_best"] is not None:
        quantity = ThreePoint(values["quantity_best"], quantity, values["quantity_worst"])
    licence = Licence(values["territory"], values["media"], values["term"])
    return Line(
        label=values["label"],
        kind=kind,
        basis=Basis(values["basis"]),
        rate=values["rate"],
        quantity=quantity,
        unit=values["unit"],
        pictures_per_hour=values["pictures_per_hour"],
        of=(LineKind(values["of"]),) if values["of"] else (),
        tax_rate=values["tax_rate"],
        hidden=values["hidden"],
        optional=values["optional"],
        group=values["group"],
        licence=licence if kind == LineKind.LICENCE else None,
    )


@dataclass(frozen=True)
class PricedQuote:
    """A draft with its offers, or the one thing that keeps it from being priced.

    `lines` are the price lines with their figures in each option, None where a line is not for
    it; `spreads` are the days of each offer as the forecast sees them.
    """

    offers: tuple[Offer, ...]
    evidence: Evidence
    plan: tuple[DraftPart, ...] = ()
    lines: tuple[tuple[Line, tuple[PricedLine | None, ...]], ...] = ()
    spreads: tuple[Spread, ...] = ()
    refusal: str = ""

    @property
    def payments(self) -> list[tuple[DraftPart, list[Decimal]]]:
        """Each part of the plan with what it comes to in every option."""
        return [
            (part, [offer.payments[place] for offer in self.offers])
            for place, part in enumerate(self.plan)
        ]

    @property
    def drawn(self) -> list[tuple[Offer, Spread]]:
        """Each offer with its spread."""
        return list(zip(self.offers, self.spreads, strict=True))


def price(draft: Draft, studio: Studio, first_day: date | None, today: date) -> PricedQuote:
    """Price a draft on what the studio knows this evening; never raises, says what is missing."""
    known = evidence(studio, first_day, today)
    try:
        offers = price_draft(draft, known.pace, known.forecasts)
    except QuoteError as error:
        return PricedQuote((), known, refusal=error.sentence)
    return PricedQuote(
        offers,
        known,
        draft.payments,
        _side_by_side(draft, offers),
        tuple(_spread(offer, known) for offer in offers),
    )


def _side_by_side(draft: Draft, offers: tuple[Offer, ...]):
    left = [iter(offer.priced.lines) for offer in offers]
    return tuple(
        (
            one.line,
            tuple(
                next(lines) if one.option in (None, place) else None
                for place, lines in enumerate(left)
            ),
        )
        for one in draft.lines
    )


def _spread(offer: Offer, known: Evidence) -> Spread:
    work = offer.priced.work
    answer = known.forecasts(work.float_hours, work.setups)
    chances = (EVEN_CHANCE, offer.priced.days.confidence)
    return spread_of(answer.samples, [answer.days(chance) for chance in chances])


def valid_until(quote: Quote, today: date) -> date:
    """Until when it is valid if it is sent today."""
    return today + timedelta(days=quote.valid_days)


def price_quote(quote: Quote, studio: Studio, today: date) -> PricedQuote:
    """Price a quote as it is stored."""
    try:
        draft = draft_of(quote)
    except QuoteError as error:
        return PricedQuote((), evidence(studio, quote.first_day, today), refusal=error.sentence)
    return price(draft, studio, quote.first_day, today)


def offers_of(sent: SentQuote) -> tuple[Offer, ...]:
    """The offers exactly as they were sent, whatever was measured or changed since."""
    return thaw(tuple[Offer, ...], sent.figures)


def paper_of(sent: SentQuote) -> QuotePaper:
    """What the PDF that was sent says."""
    return thaw(QuotePaper, sent.paper)


@dataclass(frozen=True)
class OptionComparison:
    """An option of one revision against the same of another; None where it was not there."""

    label: str
    comparison: Comparison | None
    words: str = ""


def compared(before: tuple[Offer, ...], after: tuple[Offer, ...]) -> tuple[OptionComparison, ...]:
    """How the options differ, line by line: the same label is the same option."""
    was = {offer.label: offer for offer in before}
    rows = []
    for offer in after:
        old = was.pop(offer.label, None)
        if old is None:
            rows.append(OptionComparison(offer.label, None, "added"))
        elif old.priced.currency != offer.priced.currency:
            rows.append(OptionComparison(offer.label, None, "in another currency"))
        else:
            rows.append(OptionComparison(offer.label, compare(old.priced, offer.priced)))
    return (*rows, *(OptionComparison(label, None, "taken away") for label in was))


@dataclass(frozen=True)
class QuoteRow:
    """A quote in the list."""

    quote: Quote
    status: str
    total: str


ON_A_PAGE = 20


@dataclass(frozen=True)
class QuoteList:
    """Quotes in hand, a page of them, and those put aside."""

    rows: tuple[QuoteRow, ...]
    page: Page
    archived: tuple[Quote, ...]


def quotes(today: date, page_number: str | None) -> QuoteList:
    """A page of the quotes, newest first, each with the totals it was sent with."""
    everything = Quote.objects.select_related("client", "sent").defer(
        "sent__pdf", "sent__figures", "sent__paper"
    )
    page = Paginator(everything.filter(archived_at__isnull=True), ON_A_PAGE).get_page(page_number)
    return QuoteList(
        rows=tuple(
            QuoteRow(
                quote=row,
                status="lapsed" if row.has_lapsed(today) else row.get_status_display(),
                total=" / ".join(offer["total"] for offer in row.sent.offers)
                if hasattr(row, "sent")
                else "",
            )
            for row in page.object_list
        ),
        page=page,
        archived=tuple(everything.filter(archived_at__isnull=False)),
    )


def revisions_of(quote: Quote) -> list[Quote]:
    """Every revision under the quote's number that was sent, oldest first."""
    if quote.number is None:
        return []
    same = Quote.objects.filter(year=quote.year, number=quote.number, sent_at__isnull=False)
    return list(same.order_by("revision"))


@dataclass(frozen=True)
class Stock:
    """What a new line may start from: the studio's own lines, and people with a day rate."""

    templates: tuple[LineTemplate, ...]
    day_rates: tuple[DayRate, ...]


def stock() -> Stock:
    """The lines in stock."""
    return Stock(tuple(LineTemplate.objects.all()), tuple(DayRate.objects.select_related("person")))

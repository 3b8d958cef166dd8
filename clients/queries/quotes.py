"""What the quote pages and the quote's PDF show."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Prefetch

from clients.documents.money_tables import Party, PriceRow, SumRow
from clients.documents.quote import QuotedOption, QuotePaper
from clients.models import Quote, QuoteOption, QuoteSequence
from clients.queries.money_text import day, money, number
from clients.trade.differences import Comparison, compare
from clients.trade.earnings import NextPace, PaceRecord, next_paces
from clients.trade.payment import PaymentPart
from clients.trade.quoting.client_view import ClientLine
from clients.trade.quoting.days import Forecasts, forecasts_of
from clients.trade.quoting.days import Studio as StudioSoFar
from clients.trade.quoting.draft import Draft, Offer, price_draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, Licence, Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from shots.models import Difficulty, SessionShot
from shots.queries.history import finished_productions
from studio.models import Studio
from studio.queries import work_calendar
from studio.trade.timecode import rate_label, seconds_and_frames


@dataclass(frozen=True)
class Evidence:
    """What a price rests on: the pace to assume, where it comes from, and the forecast."""

    paces: tuple[NextPace, ...]
    forecasts: Forecasts
    past: int

    @property
    def pace(self) -> Mapping[str, Decimal]:
        return {one.difficulty: one.pace for one in self.paces}


def evidence(studio: Studio, first_day: date | None, today: date) -> Evidence:
    """The studio's own measured pace, and the owner's assumption where little is known."""
    assumed = {row.name: Decimal(row.pictures_per_hour) for row in Difficulty.objects.all()}
    paces = next_paces(_pace_records(assumed), assumed)
    past = finished_productions(studio, today)
    so_far = StudioSoFar(
        pace={one.difficulty: float(one.pace) for one in paces},
        day_before=(first_day or today) - timedelta(days=1),
        calendar=work_calendar(studio, today),
        past=past,
    )
    return Evidence(paces, forecasts_of(so_far), len(past))


def _pace_records(assumed: Mapping[str, Decimal]) -> list[PaceRecord]:
    """Pictures and hours by difficulty. A session's hours, set-up left out, are shared among its
    difficulties as the assumed pace says they took."""
    sessions: dict[int, list[tuple[str, int, float]]] = {}
    rows = SessionShot.objects.filter(
        session__archived_at=None, session__ended_at__isnull=False, kept__gt=0
    ).select_related("session", "shot__difficulty")
    for row in rows.order_by("-session__started_at")[:2000]:
        session = row.session
        hours = max(session.hours - session.setup_minutes / 60, 0)
        sessions.setdefault(session.pk, []).append((row.shot.difficulty.name, row.kept, hours))
    records = []
    for output in sessions.values():
        weight = sum(Decimal(kept) / assumed[name] for name, kept, _ in output)
        for name, kept, hours in output:
            share = Decimal(kept) / assumed[name] / weight
            records.append(PaceRecord(name, kept, share * Decimal(hours), 1))
    return records


def quote_with_parts(pk: int) -> Quote | None:
    """A quote with everything that stands in it, in a fixed number of queries."""
    sequences = Prefetch("sequences", QuoteSequence.objects.select_related("difficulty"))
    options = Prefetch("options", QuoteOption.objects.prefetch_related(sequences))
    rows = Quote.objects.select_related("client", "replaces", "production", "acceptance")
    return rows.prefetch_related(options, "lines", "payments").filter(pk=pk).first()


def draft_of(quote: Quote) -> Draft:
    """What the quote says, ready to be priced. Raises QuoteError for what cannot be."""
    return Draft(
        options=tuple(
            Option(
                label=option.label,
                rate=option.rate,
                runtime=option.runtime,
                sequences=tuple(
                    sequence_of(vars(row) | {"difficulty": row.difficulty.name})
                    for row in option.sequences.all()
                ),
            )
            for option in quote.options.all()
        ),
        lines=tuple(line_of(vars(row)) for row in quote.lines.all()),
        payments=tuple(
            PaymentPart(row.milestone, row.percent, row.amount) for row in quote.payments.all()
        ),
        currency=quote.currency,
        confidence=quote.confidence / 100,
        revision_rounds=quote.revision_rounds,
    )


def sequence_of(values: Mapping) -> Sequence:
    """A sequence from a row's or a form's values. Raises QuoteError."""
    names = (
        "label", "seconds", "exposure", "difficulty", "held_seconds", "holds", "reused_seconds",
        "setups", "characters",
    )  # fmt: skip
    return Sequence(**{name: values[name] for name in names})


def line_of(values: Mapping) -> Line:
    """A price line from a row's or a form's values. Raises QuoteError."""
    kind = LineKind(values["kind"])
    licence = Licence(values["territory"], values["media"], values["term"])
    return Line(
        label=values["label"],
        kind=kind,
        basis=Basis(values["basis"]),
        rate=values["rate"],
        quantity=values["quantity"],
        pictures_per_hour=values["pictures_per_hour"],
        tax_rate=values["tax_rate"],
        hidden=values["hidden"],
        optional=values["optional"],
        licence=licence if kind == LineKind.LICENCE else None,
    )


@dataclass(frozen=True)
class PricedQuote:
    """A draft with its offers, or the one thing that keeps it from being priced."""

    draft: Draft | None
    offers: tuple[Offer, ...]
    evidence: Evidence
    refusal: str = ""


def price(draft: Draft, studio: Studio, first_day: date | None, today: date) -> PricedQuote:
    """Price a draft on what the studio knows this evening; never raises, says what is missing."""
    known = evidence(studio, first_day, today)
    try:
        return PricedQuote(draft, price_draft(draft, known.pace, known.forecasts), known)
    except QuoteError as error:
        return PricedQuote(draft, (), known, error.sentence)


def price_quote(quote: Quote, studio: Studio, today: date) -> PricedQuote:
    """Price a quote as it is stored."""
    try:
        return price(draft_of(quote), studio, quote.first_day, today)
    except QuoteError as error:
        known = evidence(studio, quote.first_day, today)
        return PricedQuote(None, (), known, error.sentence)


def compared(quote: Quote, studio: Studio, today: date) -> Comparison | None:
    """How the first option of a revision differs from the one it replaces."""
    if quote.replaces is None:
        return None
    before, after = (
        price_quote(one, studio, today) for one in (quote_with_parts(quote.replaces_id), quote)
    )
    if not before.offers or not after.offers:
        return None
    return compare(before.offers[0].priced, after.offers[0].priced)


@dataclass(frozen=True)
class QuoteRow:
    """A quote in the list."""

    quote: Quote
    status: str
    total: str


def quotes(today: date) -> tuple[QuoteRow, ...]:
    """All quotes, newest first, each with the totals it was sent with."""
    rows = Quote.objects.current().select_related("client", "sent").defer("sent__pdf")
    return tuple(
        QuoteRow(
            quote=row,
            status="lapsed" if row.has_lapsed(today) else row.get_status_display(),
            total=" / ".join(offer["total"] for offer in row.sent.offers)
            if hasattr(row, "sent")
            else "",
        )
        for row in rows
    )


def quote_paper(
    quote: Quote, offers: tuple[Offer, ...], studio: Studio, today: date, valid_until: date
) -> QuotePaper:
    """Everything that prints on the quote, in the client's language."""
    language = quote.language
    first = offers[0]
    return QuotePaper(
        number=quote.reference or "draft",
        revision=quote.revision,
        title=quote.title,
        film=quote.film or _film_sentence(first),
        date=day(today, language),
        valid_until=day(valid_until, language),
        sender=Party(studio.name, _lines(studio.address, studio.phone)),
        receiver=Party(quote.client.name, _lines(quote.client.address, quote.client.tax_number)),
        included=tuple(_lines(quote.included)),
        options=tuple(_quoted(offer, quote) for offer in offers),
        dates=_dates(quote, first),
        changes=tuple(
            (name, money(cost, quote.currency, language)) for name, cost in first.more.items()
        ),
        tax_note=quote.tax_note,
        paper=studio.paper,
        language=language.split("_")[0],
    )


def _film_sentence(offer: Offer) -> str:
    option = offer.priced.option
    length = seconds_and_frames(option.frames, option.rate)
    return f"A film of {length} at {rate_label(option.rate)} frames a second, animated by hand."


def _lines(*texts: str) -> tuple[str, ...]:
    return tuple(line.strip() for text in texts for line in text.splitlines() if line.strip())


def _dates(quote: Quote, offer: Offer) -> tuple[tuple[str, str], ...]:
    if quote.first_day is None:
        return ()
    rows = [("First shooting day", day(quote.first_day, quote.language))]
    if offer.finish:
        rows.append(("Shooting finished by", day(offer.finish, quote.language)))
    return tuple(rows)


def _quoted(offer: Offer, quote: Quote) -> QuotedOption:
    priced, language = offer.priced, quote.language

    def amount(value: Decimal) -> str:
        return money(value, quote.currency, language)

    option = priced.option
    return QuotedOption(
        label=offer.label,
        length=seconds_and_frames(option.frames, option.rate),
        pictures=number(Decimal(priced.work.pictures), language),
        days=str(priced.days.chosen),
        finish=day(offer.finish, language) if quote.first_day else "",
        total=amount(priced.totals.gross),
        # A line that came to nothing says nothing to the client.
        lines=tuple(_row(line, quote) for line in offer.shown if line.amount and not line.optional),
        sums=_sums(offer, quote),
        extras=tuple(_row(line, quote) for line in offer.shown if line.optional),
        difference=offer.difference,
        payments=tuple(
            (
                row.milestone,
                f"{number(row.percent, language)} %" if row.percent else "",
                amount(due),
            )
            for row, due in zip(quote.payments.all(), offer.payments, strict=True)
        ),
        assumptions=offer.assumptions,
    )


def _share(percent: Decimal | None, language: str) -> str:
    return f"{number(percent, language)} %" if percent else ""


def _row(line: ClientLine, quote: Quote) -> PriceRow:
    detail = ""
    if line.quantity is not None and line.price is not None:
        unit = "days × " if line.line.basis == Basis.DAYS else "× "
        detail = f"{number(line.quantity, quote.language)} {unit}" + money(
            line.price, quote.currency, quote.language
        )
    elif line.line and line.line.basis == Basis.PERCENT:
        detail = _share(line.line.rate, quote.language)
    return PriceRow(
        label=line.label,
        amount=money(line.amount, quote.currency, quote.language),
        group=line.group,
        detail=detail,
        includes=line.includes,
    )


def _sums(offer: Offer, quote: Quote) -> tuple[SumRow, ...]:
    totals = offer.priced.totals

    def amount(value: Decimal) -> str:
        return money(value, quote.currency, quote.language)

    taxes = [
        SumRow(
            f"Tax {number(part.rate, quote.language)} % on {amount(part.base)}", amount(part.tax)
        )
        for part in totals.taxes
        if part.rate
    ]
    return (SumRow("Before tax", amount(totals.net)), *taxes,
            SumRow("Price", amount(totals.gross), strong=True))  # fmt: skip

"""What the change order pages show: what changes, priced; what stands agreed; a film's orders."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db.models import Prefetch, QuerySet

from clients.documents.change_order import ChangeOrderPaper
from clients.models import ChangeLine, ChangeOrder, Quote, QuotePayment, SentChangeOrder, ShotChange
from clients.queries.quotes import evidence
from clients.trade.change import (
    Agreed,
    ChangedShot,
    PricedChange,
    agreed_with,
    extra_line,
    later_deadline,
    pictures_paid,
    price_change,
)
from clients.trade.frozen import thaw
from clients.trade.quoting.draft import Offer
from clients.trade.quoting.errors import QuoteError
from shots.trade.budget import BudgetError, ShotLength
from studio.models import Studio
from studio.queries import work_calendar
from studio.trade.timecode import seconds_and_frames


def change_order_with_parts(pk: int) -> ChangeOrder | None:
    """A change order with everything its pages and its price read."""
    shots = Prefetch(
        "shot_changes", ShotChange.objects.select_related("shot", "difficulty", "setup")
    )
    rows = ChangeOrder.objects.select_related(
        "quote__client",
        "quote__sent",
        "quote__acceptance__option",
        "quote__production",
        "acceptance",
        "paid_with",
    )
    return rows.defer("quote__sent__pdf").prefetch_related(shots, "lines").filter(pk=pk).first()


def accepted_offer(quote: Quote) -> Offer:
    """The option of an accepted quote that was chosen, exactly as it was sent."""
    return thaw(Offer, quote.sent.figures[quote.acceptance.option.position])


def agreed_so_far(quote: Quote, offer: Offer) -> Agreed:
    """What stands agreed: the quote and every change order accepted since."""
    last = SentChangeOrder.objects.filter(order__in=quote.change_orders.accepted())
    last = last.order_by("-order__answered_at", "-order_id").defer("pdf").first()
    return figures_of(last).after if last else agreed_with(offer)


def figures_of(sent: SentChangeOrder) -> PricedChange:
    """A change order exactly as it was priced when it was sent."""
    return thaw(PricedChange, sent.figures)


def paper_of(sent: SentChangeOrder) -> ChangeOrderPaper:
    """What the PDF that was sent says."""
    return thaw(ChangeOrderPaper, sent.paper)


@dataclass(frozen=True)
class ChangePrice:
    """A draft with its price, or the one thing that keeps it from being priced."""

    priced: PricedChange | None
    shots: tuple[tuple[ShotChange, ChangedShot], ...]
    lines: tuple[ChangeLine, ...]
    agreed: Agreed
    growth: int
    refusal: str = ""


def price_order(order: ChangeOrder, studio: Studio, today: date) -> ChangePrice:
    """Price a draft at what was agreed; never raises, says what is missing."""
    quote = order.quote
    offer = accepted_offer(quote)
    agreed = agreed_so_far(quote, offer)
    rate = quote.production.rate
    rows = tuple(order.shot_changes.all())
    lines = tuple(order.lines.all())
    shots: tuple[ChangedShot, ...] = ()
    priced, refusal = None, ""
    try:
        shots = tuple(changed_shot(row, rate) for row in rows)
        extras = [extra_line(row.label, row.amount, row.tax_rate, quote.currency) for row in lines]
        known = evidence(studio, None, today)
        priced = price_change(offer, agreed, shots, extras, known.pace, known.forecasts)
        priced = _with_dates(priced, quote.production.deadline, studio)
    except QuoteError as error:
        refusal = error.sentence
    return ChangePrice(
        priced=priced,
        shots=tuple(zip(rows, shots, strict=False)),
        lines=lines,
        agreed=agreed,
        growth=growth_of(quote),
        refusal=refusal,
    )


def changed_shot(row: ShotChange, rate) -> ChangedShot:
    """What one row does to the film. Raises QuoteError where a length does not fit its holds."""
    difficulty = row.difficulty.name
    if row.kind == ShotChange.Kind.ADDED:
        new = ShotLength(row.screen_frames, row.exposure)
        what = f"added, {seconds_and_frames(row.screen_frames, rate)}"
        return ChangedShot(
            row.code, what, difficulty, row.screen_frames, new.pictures, int(row.new_setup)
        )
    now = row.shot.length
    paid = pictures_paid(now, row.shot.agreed_pictures)
    if row.kind == ShotChange.Kind.CUT:
        return ChangedShot(row.code, "cut", difficulty, -now.screen_frames, -paid)
    try:
        new = replace(now, screen_frames=row.screen_frames)
    except BudgetError as error:
        raise QuoteError("screen_frames", f"Shot {row.code}: {error.sentence}") from error
    return ChangedShot(
        row.code,
        _another_length(now, new, rate),
        difficulty,
        new.screen_frames - now.screen_frames,
        new.pictures - paid,
    )


def _another_length(now: ShotLength, new: ShotLength, rate) -> str:
    was, becomes = (seconds_and_frames(one.screen_frames, rate) for one in (now, new))
    if now.screen_frames == new.screen_frames:
        return f"agreed at {becomes}, as it has grown"
    way = "lengthened" if new.screen_frames > now.screen_frames else "shortened"
    return f"{way} from {was} to {becomes}"


def _with_dates(priced: PricedChange, deadline: date | None, studio: Studio) -> PricedChange:
    if deadline is None:
        return priced
    calendar = work_calendar(studio, deadline)
    return replace(
        priced,
        finish_before=deadline,
        finish=later_deadline(deadline, priced.days, calendar),
    )


def parts_to_come(quote: Quote) -> QuerySet[QuotePayment]:
    """The parts of a quote's payment plan that stand on no invoice yet."""
    return quote.payments.exclude(invoice_parts__claimed=True)


def growth_of(quote: Quote) -> int:
    """Pictures the film has grown by on the floor beyond what is agreed."""
    shots = quote.production.shots.in_film()
    return sum(
        max(shot.budget - shot.agreed_pictures, 0)
        for shot in shots
        if shot.agreed_pictures is not None
    )


def valid_until(order: ChangeOrder, today: date) -> date:
    """Until when it is valid if it is sent today."""
    return today + timedelta(days=order.valid_days)

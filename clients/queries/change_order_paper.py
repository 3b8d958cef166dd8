"""What prints on a change order, in the client's language."""

from datetime import date
from decimal import Decimal

from clients.documents.change_order import ChangeOrderPaper
from clients.models import ChangeOrder
from clients.queries.money_text import day, money, number
from clients.queries.paper_rows import price_row, receiver, sender, sum_rows
from clients.trade.change import Agreed, ChangedShot, PricedChange
from clients.trade.quoting.client_view import client_lines
from studio.models import Studio
from studio.trade.timecode import seconds_and_frames


def change_order_paper(
    order: ChangeOrder, priced: PricedChange, studio: Studio, today: date, valid_until: date
) -> ChangeOrderPaper:
    """Everything that prints on the change order."""
    quote = order.quote
    language = quote.language
    revision = f", revision {quote.revision}" if quote.revision > 1 else ""
    rows = zip(order.shot_changes.all(), priced.shots, strict=True)
    return ChangeOrderPaper(
        number=order.reference or "draft",
        quote_number=quote.reference + revision,
        title=f"{quote.title}: {order.title}",
        reason=order.reason,
        date=day(today, language),
        valid_until=day(valid_until, language),
        sender=sender(studio),
        receiver=receiver(quote.client),
        shots=tuple(
            (f"{row.code} {row.description}".strip(), *_shot(one, order)) for row, one in rows
        ),
        lines=tuple(
            price_row(line, quote.currency, language) for line in client_lines(priced.lines)
        ),
        sums=sum_rows(priced.totals, language, "The change comes to"),
        effects=_effects(priced, order),
        payment=order.due,
        tax_note=quote.tax_note,
        paper=studio.paper,
        language=language.split("_")[0],
    )


def _shot(one: ChangedShot, order: ChangeOrder) -> tuple[str, str, str]:
    length = seconds_and_frames(abs(one.frames), order.quote.production.rate)
    pictures = number(Decimal(abs(one.pictures)), order.quote.language)
    return one.what, _signed(one.frames, length), _signed(one.pictures, pictures)


def _signed(value: int, words: str) -> str:
    sign = "+" if value > 0 else "−"
    return f"{sign}{words}" if value else words


def _effects(priced: PricedChange, order: ChangeOrder) -> tuple[tuple[str, str, str], ...]:
    language, currency = order.quote.language, order.quote.currency
    rate = order.quote.production.rate

    def stands(agreed: Agreed, finish: date | None) -> dict[str, str]:
        return {
            "Length": seconds_and_frames(agreed.frames, rate),
            "Pictures": number(Decimal(agreed.pictures), language),
            "Shooting days": str(agreed.days),
            "Shooting finished by": day(finish, language),
            "Price with tax": money(agreed.gross, currency, language),
        }

    before = stands(priced.before, priced.finish_before)
    after = stands(priced.after, priced.finish)
    return tuple((name, before[name], after[name]) for name in before if after[name])

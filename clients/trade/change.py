"""A change after acceptance: shots added, lengthened or cut, in pictures, days and money.

Pictures are paid at what was agreed. The quote's animation, contingency and clean-up lines hold an
hour's price, set-ups, spread and lost days in it; a change takes its share of those lines by its
hours (clean-up by its pictures). So a second more costs what the quote says one more second costs.
Percentages, licences, discounts and everything fixed stay as they were agreed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.days import Forecasts
from clients.trade.quoting.draft import Offer
from clients.trade.quoting.errors import QuoteError, check_coins, check_number
from clients.trade.quoting.lines import Basis, Line, LineKind, PricedLine, is_counted
from clients.trade.quoting.option import hours_for
from clients.trade.quoting.pricing import EVEN_CHANCE, totals_of
from clients.trade.quoting.totals import TaxedAmount, Totals
from shots.trade.budget import ShotLength
from studio.trade.calendar import WorkCalendar
from studio.trade.money import quantize

LABOUR = (LineKind.ANIMATION, LineKind.CONTINGENCY)


@dataclass(frozen=True)
class ChangedShot:
    """One shot of a change. `frames` and `pictures` are what it adds; negative for less."""

    code: str
    what: str
    difficulty: str
    frames: int
    pictures: int
    setups: int = 0


@dataclass(frozen=True)
class Agreed:
    """What stands agreed: the quote as accepted and every change order accepted since.

    `hours` are of animation, by difficulty, at the pace agreed; `days_even` are at even chance,
    `days` those promised; `gross` is the price with tax.
    """

    frames: int
    pictures: int
    setups: int
    hours: Mapping[str, Fraction]
    days_even: int
    days: int
    gross: Decimal


@dataclass(frozen=True)
class PricedChange:
    """A change with its lines and what it makes of the agreement. Totals may be negative."""

    shots: tuple[ChangedShot, ...]
    lines: tuple[PricedLine, ...]
    totals: Totals
    before: Agreed
    after: Agreed
    finish_before: date | None = None
    finish: date | None = None

    @property
    def days(self) -> int:
        """Shooting days more; negative for fewer."""
        return self.after.days - self.before.days

    @property
    def frames(self) -> int:
        """Frames on screen more; negative for fewer."""
        return self.after.frames - self.before.frames

    @property
    def pictures(self) -> int:
        """Pictures more; negative for fewer."""
        return self.after.pictures - self.before.pictures


def agreed_with(offer: Offer) -> Agreed:
    """What the quote alone agrees."""
    work = offer.priced.work
    return Agreed(
        frames=work.frames,
        pictures=work.pictures,
        setups=work.setups,
        hours=work.hours_by_difficulty,
        days_even=offer.priced.days.even,
        days=offer.priced.days.chosen,
        gross=offer.priced.totals.gross,
    )


def pictures_paid(length: ShotLength, agreed: int | None) -> int:
    """Pictures of a shot that stands, as far as they are agreed: what it grew by is not paid.

    A shot nobody agreed on, such as the second half of one that was split, counts as it stands.
    """
    return length.pictures if agreed is None else min(length.pictures, agreed)


def extra_line(label: str, amount: Decimal, tax_rate: Decimal, currency: str) -> PricedLine:
    """What else a change costs, or takes off, before tax. Raises QuoteError."""
    check_number("amount", abs(amount), f"“{label}”", above_least=True)
    check_coins("amount", amount, f"“{label}”", currency)
    kind = LineKind.OTHER if amount > 0 else LineKind.DISCOUNT
    line = Line(label, kind, Basis.FIXED, abs(amount), tax_rate=tax_rate)
    return PricedLine(line, None, None, amount, (TaxedAmount(amount, tax_rate),))


def price_change(
    offer: Offer,
    before: Agreed,
    shots: Sequence[ChangedShot],
    extras: Sequence[PricedLine],
    pace: Mapping[str, Decimal],
    forecasts: Forecasts,
) -> PricedChange:
    """Price a change to what was agreed with `offer`.

    `pace` serves for difficulties the quote did not know; `forecasts` say how many days more.
    Raises QuoteError where nothing changes, where the film would be gone, and where the quote has
    no price of an hour.
    """
    if not shots and not extras:
        raise QuoteError("shots", "Nothing changes yet: add a shot, change one, or add a line.")
    hours = _hours(shots, {**pace, **offer.pace})
    lines = (*_lines(offer, shots, hours), *extras)
    sums = totals_of(lines, offer.priced.currency)
    grown = _together(before.hours, hours)
    setups = before.setups + sum(one.setups for one in shots)
    chances = (EVEN_CHANCE, offer.priced.days.confidence)
    with_it, without = (
        _days(film, needed, chances, forecasts)
        for film, needed in ((grown, setups), (before.hours, before.setups))
    )
    even = before.days_even + with_it[0] - without[0]
    after = Agreed(
        frames=before.frames + sum(one.frames for one in shots),
        pictures=before.pictures + sum(one.pictures for one in shots),
        setups=setups,
        hours=grown,
        days_even=even,
        days=max(before.days + with_it[1] - without[1], even),
        gross=before.gross + sums.gross,
    )
    if after.frames < 1:
        raise QuoteError("shots", "Nothing of the film would be left: cut less.")
    if after.gross < 0:
        raise QuoteError(
            "lines",
            f"It takes off {-sums.gross} {sums.currency}, more than the {before.gross} "
            f"{sums.currency} agreed: lower it.",
        )
    return PricedChange(tuple(shots), lines, sums, before, after)


def later_deadline(deadline: date, days: int, calendar: WorkCalendar) -> date:
    """The deadline after so many working days more. Fewer days leave it where it is."""
    return calendar.add(deadline, max(days, 0))


def _hours(shots: Sequence[ChangedShot], pace: Mapping[str, Decimal]) -> dict[str, Fraction]:
    hours: dict[str, Fraction] = {}
    for one in shots:
        more = hours_for(one.pictures, one.difficulty, pace)
        hours[one.difficulty] = hours.get(one.difficulty, Fraction(0)) + more
    return hours


def _lines(
    offer: Offer, shots: Sequence[ChangedShot], hours: Mapping[str, Fraction]
) -> tuple[PricedLine, ...]:
    """What the change takes of the lines agreed; those it leaves alone are left out."""
    work = offer.priced.work
    pictures = sum(one.pictures for one in shots)
    if pictures and not work.pictures:
        raise QuoteError(
            "shots",
            "The quote has no picture to take, so no price of one: add a line for this change.",
        )
    share = sum(hours.values(), Fraction(0)) / work.hours if work.hours else Fraction(0)
    by_pictures = Fraction(pictures, work.pictures or 1)
    setups = sum(one.setups for one in shots)
    changed = []
    for one in offer.priced.lines:
        line = one.line
        if line.optional:
            continue
        if line.kind in LABOUR:
            changed.append(_share_of(one, share, offer.priced.currency))
        elif line.kind == LineKind.CLEANUP:
            changed.append(_share_of(one, by_pictures, offer.priced.currency))
        elif line.kind == LineKind.SETUP and is_counted(line):
            changed.append(_counted(one, Decimal(setups), offer.priced.currency))
    return tuple(one for one in changed if one.amount)


def _share_of(one: PricedLine, share: Fraction, currency: str) -> PricedLine:
    if one.quantity is not None:
        return _counted(one, round(_decimal(Fraction(one.quantity) * share), 3), currency)
    amount = quantize(_decimal(Fraction(one.amount) * share), currency)
    return PricedLine(one.line, None, None, amount, (TaxedAmount(amount, one.line.tax_rate),))


def _counted(one: PricedLine, quantity: Decimal, currency: str) -> PricedLine:
    """Multiplied again from what is printed, so that anyone can."""
    amount = quantize(quantity * one.price, currency)
    taxed = (TaxedAmount(amount, one.line.tax_rate),)
    return PricedLine(one.line, quantity, one.price, amount, taxed)


def _decimal(exact: Fraction) -> Decimal:
    return Decimal(exact.numerator) / exact.denominator


def _together(before: Mapping[str, Fraction], more: Mapping[str, Fraction]) -> dict[str, Fraction]:
    return {
        name: max(before.get(name, Fraction(0)) + more.get(name, Fraction(0)), Fraction(0))
        for name in (*before, *(name for name in more if name not in before))
    }


def _days(
    hours: Mapping[str, Fraction], setups: int, chances: Sequence[float], forecasts: Forecasts
) -> list[int]:
    """Days enough for so much animation with each chance, as known today."""
    left = {name: float(long) for name, long in hours.items() if long}
    sessions = forecasts(left, max(setups, 0)).quote_sessions if left else {}
    return [sessions.get(chance, 0) for chance in chances]

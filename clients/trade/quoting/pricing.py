"""An option priced: its work, its days at the odds chosen, its lines and totals."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Counts, Line, LineKind, PricedLine, price_lines
from clients.trade.quoting.option import Option, Work, work_of
from clients.trade.quoting.totals import TaxedAmount, Totals, totals
from studio.trade.money import MoneyError, minor_units

EVEN_CHANCE = 0.5
USUAL_CONFIDENCE = 0.8

# Hours of animation by difficulty and the number of set-ups, to the days that are enough with each
# chance: {0.5: 14, 0.8: 18, 0.95: 25}.
SessionsAt = Callable[[Mapping[str, float], int], Mapping[float, int]]


@dataclass(frozen=True)
class ShootingDays:
    """Days of shooting at even chance, and at the confidence the owner chose."""

    even: int
    chosen: int
    confidence: float
    at: Mapping[float, int]


@dataclass(frozen=True)
class PricedOption:
    """An option with everything the builder and the PDF show of it."""

    option: Option
    work: Work
    days: ShootingDays
    lines: tuple[PricedLine, ...]
    totals: Totals

    @property
    def currency(self) -> str:
        return self.totals.currency

    def amount_of(self, *kinds: LineKind) -> Decimal:
        """What the lines of these kinds come to in the total, before tax."""
        return sum(
            (one.amount for one in self.lines if one.line.kind in kinds and not one.line.optional),
            Decimal(0),
        )


def price_option(
    option: Option,
    lines: Iterable[Line],
    pace: Mapping[str, Decimal],
    sessions_at: SessionsAt,
    *,
    currency: str,
    confidence: float = USUAL_CONFIDENCE,
) -> PricedOption:
    """Price an option. `pace` is pictures an hour by difficulty. Raises QuoteError."""
    lines = tuple(lines)
    try:
        minor_units(currency)
    except MoneyError as error:
        raise QuoteError("currency", str(error)) from error
    if not lines:
        raise QuoteError("lines", f"The option “{option.label}” has no price lines: add one.")
    work = work_of(option, pace)
    days = _shooting_days(work, sessions_at, confidence)
    counts = Counts(days.even, days.chosen, work.pictures, work.setups)
    priced = price_lines(lines, counts, currency)
    sums = totals_of(priced, currency)
    if any(part.base < 0 for part in sums.taxes):
        raise QuoteError(
            "lines",
            f"The discounts of {sums.discounts} {currency} together are more than the lines they "
            "lower: lower them.",
        )
    return PricedOption(option, work, days, priced, sums)


def totals_of(lines: Iterable[PricedLine], currency: str) -> Totals:
    """Totals of the lines that are not optional."""
    included = [one for one in lines if not one.line.optional]
    return totals(
        [part for one in included if not _lowers(one) for part in one.taxed],
        [
            TaxedAmount(-part.amount, part.tax_rate)
            for one in included
            if _lowers(one)
            for part in one.taxed
        ],
        currency,
    )


def price_of_an_hour(priced: PricedOption) -> Fraction:
    """Animation and contingency for each planned hour, set-up time and lost days included."""
    if not priced.work.hours:
        return Fraction(0)
    labour = priced.amount_of(LineKind.ANIMATION, LineKind.CONTINGENCY)
    return Fraction(labour) / priced.work.hours


def _lowers(one: PricedLine) -> bool:
    return one.line.kind == LineKind.DISCOUNT


def _shooting_days(work: Work, sessions_at: SessionsAt, confidence: float) -> ShootingDays:
    at = sessions_at(work.float_hours, work.setups)
    if confidence not in at:
        offered = ", ".join(f"{chance:.0%}" for chance in sorted(at))
        raise QuoteError(
            "confidence", f"The confidence is {confidence:.0%}: choose one of {offered}."
        )
    if confidence < EVEN_CHANCE:
        raise QuoteError(
            "confidence", f"The confidence is {confidence:.0%}: choose an even chance or more."
        )
    return ShootingDays(at[EVEN_CHANCE], at[confidence], confidence, at)

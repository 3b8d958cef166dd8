"""Questions asked from the price backwards: what fits a budget, what one more second costs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.errors import QuoteError, check_number
from clients.trade.quoting.lines import Line, LineKind
from clients.trade.quoting.option import Option, Sequence, exposure_words, hours_for
from clients.trade.quoting.pricing import (
    USUAL_CONFIDENCE,
    PricedOption,
    SessionsAt,
    price_of_an_hour,
    price_option,
)
from studio.trade.money import quantize

LONGEST_FILM = 600


@dataclass(frozen=True)
class Fit:
    """The longest film, in whole seconds, that a budget pays for; 0 seconds where none does.

    Days and `net` (before tax) are of that film, or of one second where not even that fits.
    """

    exposure: int
    difficulty: str
    seconds: int
    pictures: int
    days_even: int
    days_chosen: int
    net: Decimal


def one_more_second(
    priced: PricedOption, pace: Mapping[str, Decimal], exposure: int
) -> dict[str, Decimal]:
    """What one more second costs before tax, by difficulty, shot at `exposure`.

    Its share of animation and contingency, which hold the set-ups, the spread and the lost days,
    and of clean-up. Percent lines, licences and discounts are left as they are.
    """
    check_number("exposure", exposure, "Exposure", least=1)
    pictures = Fraction(priced.option.rate) / exposure
    hour = price_of_an_hour(priced)
    cleanup = Fraction(0)
    if priced.work.pictures:
        cleanup = Fraction(priced.amount_of(LineKind.CLEANUP)) / priced.work.pictures * pictures
    costs = {}
    for difficulty in pace:
        exact = hours_for(pictures, difficulty, pace) * hour + cleanup
        costs[difficulty] = quantize(Decimal(exact.numerator) / exact.denominator, priced.currency)
    return costs


def usual_exposure(option: Option) -> int:
    """The exposure most of the film is shot at."""
    seconds: dict[int, Decimal] = {}
    for one in option.sequences:
        seconds[one.exposure] = seconds.get(one.exposure, Decimal(0)) + one.seconds
    return max(seconds, key=seconds.__getitem__)


def what_fits(
    budget: Decimal,
    lines: Iterable[Line],
    pace: Mapping[str, Decimal],
    sessions_at: SessionsAt,
    *,
    rate: Fraction,
    exposures: Iterable[int],
    seconds_per_setup: Decimal,
    currency: str,
    confidence: float = USUAL_CONFIDENCE,
) -> tuple[Fit, ...]:
    """The longest film a budget before tax pays for, for each exposure and difficulty.

    A film of one difficulty throughout, with a set-up for every `seconds_per_setup` begun, up to
    ten minutes. Raises QuoteError when nothing fits, naming the cheapest second.
    """
    check_number("budget", budget, "The budget", above_least=True)
    check_number("seconds_per_setup", seconds_per_setup, "Seconds in a set-up", above_least=True)
    lines = tuple(lines)

    def price(seconds: int, exposure: int, difficulty: str) -> PricedOption:
        setups = -(-seconds // seconds_per_setup)
        film = Sequence("film", Decimal(seconds), exposure, difficulty, setups=int(setups))
        option = Option("film", rate, (film,))
        return price_option(
            option, lines, pace, sessions_at, currency=currency, confidence=confidence
        )

    fits = tuple(
        _longest(budget, price, exposure, difficulty)
        for exposure in exposures
        for difficulty in pace
    )
    if not any(fit.seconds for fit in fits):
        cheapest = min(fits, key=lambda fit: fit.net)
        raise QuoteError(
            "budget",
            f"Nothing fits {budget} {currency}: one second of {cheapest.difficulty} on "
            f"{exposure_words(cheapest.exposure)} already costs {cheapest.net} {currency} "
            "before tax. Raise the budget or drop lines.",
        )
    return fits


def _longest(budget: Decimal, price, exposure: int, difficulty: str) -> Fit:
    """Halve the range between a length that fits and one that does not."""
    fits, too_long = 0, LONGEST_FILM + 1
    best = one = price(1, exposure, difficulty)
    if one.totals.net <= budget:
        fits = 1
        while too_long - fits > 1:
            middle = (fits + too_long) // 2
            tried = price(middle, exposure, difficulty)
            if tried.totals.net <= budget:
                fits, best = middle, tried
            else:
                too_long = middle
    return Fit(
        exposure,
        difficulty,
        fits,
        best.work.pictures,
        best.days.even,
        best.days.chosen,
        best.totals.net,
    )

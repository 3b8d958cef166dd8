"""Price lines: what each may be, and what it comes to.

A line is days × rate, quantity × price, a percent of lines above it, or a fixed amount. Where the
tool counts the quantity itself (animation days, contingency days, set-ups, hours of clean-up) the
line leaves it open.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from clients.trade.quoting.errors import QuoteError, check_coins, check_number
from clients.trade.quoting.three_point import ThreePoint
from clients.trade.quoting.totals import TaxedAmount
from studio.trade.money import quantize, split


class LineKind(StrEnum):
    ANIMATION = "animation"
    CONTINGENCY = "contingency"
    PRE_PRODUCTION = "pre-production"
    BUILDS = "builds"
    SETUP = "set-up"
    CLEANUP = "clean-up"
    EDIT = "edit"
    GRADE = "grade"
    SOUND = "sound"
    MATERIALS = "materials"
    HIRE = "kit and stage hire"
    TRAVEL = "travel"
    LICENCE = "usage licence"
    DISCOUNT = "discount"
    OTHER = "other"


class Basis(StrEnum):
    DAYS = "days × rate"
    QUANTITY = "quantity × price"
    PERCENT = "percent of"
    FIXED = "fixed"


GROUP_OF = {
    LineKind.PRE_PRODUCTION: "Preparation",
    LineKind.BUILDS: "Preparation",
    LineKind.ANIMATION: "Animation",
    LineKind.CONTINGENCY: "Animation",
    LineKind.SETUP: "Animation",
    LineKind.CLEANUP: "Finishing",
    LineKind.EDIT: "Finishing",
    LineKind.GRADE: "Finishing",
    LineKind.SOUND: "Finishing",
    LineKind.MATERIALS: "Materials, hire and travel",
    LineKind.HIRE: "Materials, hire and travel",
    LineKind.TRAVEL: "Materials, hire and travel",
    LineKind.LICENCE: "Usage licence",
    LineKind.DISCOUNT: "Discount",
    LineKind.OTHER: "Other",
}

# The kinds whose quantity the tool counts when the line leaves it open.
COUNTED = {
    (LineKind.ANIMATION, Basis.DAYS),
    (LineKind.CONTINGENCY, Basis.DAYS),
    (LineKind.SETUP, Basis.QUANTITY),
    (LineKind.CLEANUP, Basis.QUANTITY),
}


@dataclass(frozen=True)
class Licence:
    """Where, in which media and for how long the client may use the film."""

    territory: str
    media: str
    term: str


@dataclass(frozen=True)
class Line:
    """One line of a price.

    `rate` is the price of a day or a unit, the percent, or the amount, by `basis`. It may be left
    open on a contingency line by the day, which then takes the day rates of the animation lines.
    `pictures_per_hour` is how fast clean-up goes (a picture held for two frames is cleaned once).
    `of` limits a percent to lines of those kinds above it; empty means every line above it.
    `tax_rate` is in percent; a discount takes the tax rates of the lines it lowers instead.
    A hidden line is folded into its group on the client's page. An optional line is outside the
    total. Raises QuoteError.
    """

    label: str
    kind: LineKind
    basis: Basis
    rate: Decimal | None
    quantity: Decimal | ThreePoint | None = None
    unit: str = ""
    pictures_per_hour: Decimal | None = None
    of: tuple[LineKind, ...] = ()
    tax_rate: Decimal = Decimal(0)
    hidden: bool = False
    optional: bool = False
    group: str = ""
    licence: Licence | None = None

    def __post_init__(self):
        check_number("tax_rate", self.tax_rate, f"The tax rate of “{self.label}”", most=100)
        if self.kind == LineKind.DISCOUNT:
            self._check_discount()
        self._check_rate()
        self._check_quantity()
        if self.kind == LineKind.LICENCE and not (
            self.licence and self.licence.territory and self.licence.media and self.licence.term
        ):
            raise QuoteError(
                "licence", f"“{self.label}” needs a territory, media and a term: enter all three."
            )

    def _check_rate(self):
        if self.rate is None:
            if self.kind == LineKind.CONTINGENCY and self.basis == Basis.DAYS:
                return
            raise QuoteError("rate", f"“{self.label}” has no price: enter a rate.")
        if self.basis == Basis.PERCENT:
            check_number("rate", self.rate, f"The percentage of “{self.label}”", most=100)
        elif self.basis == Basis.FIXED:
            check_number("rate", self.rate, f"The amount of “{self.label}”")
        else:
            check_number("rate", self.rate, f"The rate of “{self.label}”", above_least=True)

    def _check_quantity(self):
        if self.basis not in (Basis.DAYS, Basis.QUANTITY) or isinstance(self.quantity, ThreePoint):
            return
        if self.quantity is not None:
            check_number("quantity", self.quantity, f"The quantity of “{self.label}”")
        elif (self.kind, self.basis) not in COUNTED:
            raise QuoteError("quantity", f"“{self.label}” has no quantity: enter how many.")
        elif self.kind == LineKind.CLEANUP:
            if self.pictures_per_hour is None:
                raise QuoteError(
                    "pictures_per_hour",
                    f"“{self.label}” has no pace: enter how many pictures are cleaned in an hour.",
                )
            check_number(
                "pictures_per_hour",
                self.pictures_per_hour,
                f"The pace of “{self.label}”",
                above_least=True,
            )

    def _check_discount(self):
        if self.basis not in (Basis.PERCENT, Basis.FIXED):
            raise QuoteError(
                "basis", f"The discount “{self.label}” must be a percentage or a fixed amount."
            )
        if self.hidden or self.optional:
            raise QuoteError(
                "hidden" if self.hidden else "optional",
                f"The discount “{self.label}” cannot be hidden or optional: "
                "lower the prices instead.",
            )

    @property
    def heading(self) -> str:
        """The group the line stands in."""
        return self.group or GROUP_OF[self.kind]


@dataclass(frozen=True)
class Counts:
    """What the tool counts for lines that leave their quantity open."""

    days_even: int
    days_chosen: int
    pictures: int
    setups: int


@dataclass(frozen=True)
class PricedLine:
    """A line with what it comes to, before tax. A discount's `amount` is negative.

    `quantity` and `price` are None for percent and fixed lines. `taxed` splits the amount by tax
    rate: one part, but for a discount over lines of several rates.
    """

    line: Line
    quantity: Decimal | None
    price: Decimal | None
    amount: Decimal
    taxed: tuple[TaxedAmount, ...]


def is_counted(line: Line) -> bool:
    """Whether the tool counts the line's quantity."""
    return line.quantity is None and (line.kind, line.basis) in COUNTED


def price_lines(lines: Iterable[Line], counts: Counts, currency: str) -> tuple[PricedLine, ...]:
    """Price each line in turn; percent lines see the lines above them. Raises QuoteError."""
    lines = tuple(lines)
    day_rates = sum(
        line.rate
        for line in lines
        if line.kind == LineKind.ANIMATION and line.basis == Basis.DAYS and not line.optional
    )
    priced: list[PricedLine] = []
    for line in lines:
        above = [one for one in priced if not one.line.optional]
        if line.kind == LineKind.DISCOUNT:
            priced.append(_discount(line, above, currency))
        elif line.basis in (Basis.DAYS, Basis.QUANTITY):
            priced.append(_counted(line, counts, day_rates, currency))
        else:
            amount = _percent_or_fixed(line, above, currency)
            priced.append(_priced(line, None, None, amount))
    return tuple(priced)


def _counted(line: Line, counts: Counts, day_rates: Decimal, currency: str) -> PricedLine:
    price = day_rates if line.rate is None else line.rate
    if not price:
        raise QuoteError(
            "rate",
            f"“{line.label}” takes the day rates of the animation lines, and there are none: "
            "enter a rate.",
        )
    quantity = _quantity(line, counts)
    return _priced(line, quantity, price, quantize(quantity * price, currency))


def _quantity(line: Line, counts: Counts) -> Decimal:
    if isinstance(line.quantity, ThreePoint):
        return round(line.quantity.mean, 2)
    if line.quantity is not None:
        return line.quantity
    if line.kind == LineKind.ANIMATION:
        return Decimal(counts.days_even)
    if line.kind == LineKind.CONTINGENCY:
        return Decimal(counts.days_chosen - counts.days_even)
    if line.kind == LineKind.SETUP:
        return Decimal(counts.setups)
    # Rounded as it is printed, so that anyone can multiply the line again.
    return round(counts.pictures / Decimal(line.pictures_per_hour), 2)


def _percent_or_fixed(line: Line, above: list[PricedLine], currency: str) -> Decimal:
    if line.basis == Basis.FIXED:
        check_coins("rate", line.rate, f"“{line.label}”", currency)
        return quantize(line.rate, currency)
    base = _lines_meant(line, above)
    if not base:
        raise QuoteError(
            "of",
            f"“{line.label}” is a percentage of lines above it, and there are none"
            + (f" of {', '.join(line.of)}" if line.of else "")
            + ": move it down or choose other lines.",
        )
    return quantize(sum(one.amount for one in base) * line.rate / 100, currency)


def _lines_meant(line: Line, above: list[PricedLine]) -> list[PricedLine]:
    return [one for one in above if not line.of or one.line.kind in line.of]


def _discount(line: Line, above: list[PricedLine], currency: str) -> PricedLine:
    """A discount lowers the tax rates of the lines it is taken from in proportion."""
    amount = _percent_or_fixed(line, above, currency)
    bases: dict[Decimal, Decimal] = {}
    for one in _lines_meant(line, above):
        for part in one.taxed:
            bases[part.tax_rate] = bases.get(part.tax_rate, Decimal(0)) + part.amount
    whole = sum(bases.values())
    if amount > whole:
        raise QuoteError(
            "rate",
            f"The discount “{line.label}” of {amount} {currency} is more than the {whole} "
            f"{currency} it is taken from: lower it.",
        )
    taxed = ()
    if amount:
        parts = split(amount, list(bases.values()), currency)
        taxed = tuple(
            TaxedAmount(-part, rate) for part, rate in zip(parts, bases, strict=True) if part
        )
    return PricedLine(line, None, None, -amount, taxed)


def _priced(
    line: Line, quantity: Decimal | None, price: Decimal | None, amount: Decimal
) -> PricedLine:
    return PricedLine(line, quantity, price, amount, (TaxedAmount(amount, line.tax_rate),))

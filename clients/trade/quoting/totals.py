"""Totals of a quote or an invoice by the rules of EN 16931, in the currency's minor units.

Every amount is rounded on its line and then added exactly (BR-CO-10); tax is worked out once for
each rate, on the sum of that rate (BR-CO-17); what is to pay is net plus tax (BR-CO-15).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from studio.trade.money import quantize


@dataclass(frozen=True)
class TaxedAmount:
    """An amount before tax and the percent of tax on it."""

    amount: Decimal
    tax_rate: Decimal


@dataclass(frozen=True)
class TaxPart:
    """The tax of one rate: `base` before tax, `tax` on it."""

    rate: Decimal
    base: Decimal
    tax: Decimal


@dataclass(frozen=True)
class Totals:
    """`lines` less `discounts` is `net`; `net` plus `tax` is `gross`."""

    currency: str
    lines: Decimal
    discounts: Decimal
    net: Decimal
    taxes: tuple[TaxPart, ...]
    tax: Decimal
    gross: Decimal


def totals(lines: Iterable[TaxedAmount], discounts: Iterable[TaxedAmount], currency: str) -> Totals:
    """Add up lines and discounts (both positive). Lines may be negative on a change order."""
    nothing = quantize(Decimal(0), currency)
    bases: dict[Decimal, Decimal] = {}
    sums = [nothing, nothing]
    for place, sign, amounts in ((0, 1, lines), (1, -1, discounts)):
        for one in amounts:
            amount = quantize(one.amount, currency)
            sums[place] += amount
            bases[one.tax_rate] = bases.get(one.tax_rate, nothing) + sign * amount
    taxes = tuple(
        TaxPart(rate, base, quantize(base * rate / 100, currency))
        for rate, base in sorted(bases.items(), reverse=True)
    )
    net = sums[0] - sums[1]
    tax = sum((part.tax for part in taxes), nothing)
    return Totals(currency, sums[0], sums[1], net, taxes, tax, net + tax)

"""The payment plan: a total split into parts that add up to it, and what is to pay of each tax."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from clients.trade.quoting.errors import QuoteError, check_coins, check_number
from clients.trade.quoting.totals import TaxPart, Totals
from studio.trade.money import quantize, split


@dataclass(frozen=True)
class PaymentPart:
    """One part of a plan: a percent of the total, an amount, or (neither) the rest.

    `milestone` says in words what makes it due: "on acceptance", "at picture lock". Amounts
    include tax. Raises QuoteError.
    """

    milestone: str
    percent: Decimal | None = None
    amount: Decimal | None = None

    def __post_init__(self):
        if self.percent is not None and self.amount is not None:
            raise QuoteError(
                "percent", f"The part “{self.milestone}” has a percentage and an amount: keep one."
            )
        if self.percent is not None:
            check_number(
                "percent", self.percent, f"The part “{self.milestone}”", most=100, above_least=True
            )
        if self.amount is not None:
            check_number("amount", self.amount, f"The part “{self.milestone}”", above_least=True)

    @property
    def is_rest(self) -> bool:
        return self.percent is None and self.amount is None


def payment_amounts(
    gross: Decimal, parts: Sequence[PaymentPart], currency: str
) -> tuple[Decimal, ...]:
    """What each part comes to; together exactly `gross`.

    Percents are of `gross`, split by largest remainder. One part may be the rest. Without it the
    parts must come to the total. Raises QuoteError.
    """
    if not parts:
        raise QuoteError("parts", "The payment plan has no parts: add one.")
    percent = sum((part.percent for part in parts if part.percent is not None), Decimal(0))
    if percent > 100:
        raise QuoteError("parts", f"The percentages come to {percent} %: lower them to 100 %.")
    if sum(part.is_rest for part in parts) > 1:
        raise QuoteError("parts", "Two parts are the rest: give all but one a percent or amount.")
    shares = iter(_percent_shares(gross, parts, percent, currency))
    amounts = [next(shares) if part.percent is not None else part.amount for part in parts]
    for part, amount in zip(parts, amounts, strict=True):
        if amount is not None:
            check_coins("amount", amount, f"The part “{part.milestone}”", currency)
    return _completed(gross, amounts, currency)


def _percent_shares(
    gross: Decimal, parts: Sequence[PaymentPart], percent: Decimal, currency: str
) -> list[Decimal]:
    weights = [part.percent for part in parts if part.percent is not None]
    if not weights:
        return []
    # What the percentages leave takes part in the split, so that it is shared fairly too.
    return list(split(gross, [*weights, 100 - percent] if percent < 100 else weights, currency))


def _completed(gross: Decimal, amounts: list[Decimal | None], currency: str) -> tuple[Decimal, ...]:
    left = gross - sum(amount for amount in amounts if amount is not None)
    if left < 0:
        raise QuoteError(
            "parts", f"The parts come to {-left} {currency} more than the total: lower them."
        )
    if None in amounts:
        return tuple(left if amount is None else amount for amount in amounts)
    if left:
        raise QuoteError(
            "parts",
            f"The parts leave {left} {currency} of the total unpaid: raise one, or make one "
            "the rest.",
        )
    return tuple(amounts)


def tax_parts_of_payment(
    whole: Totals, amounts: Sequence[Decimal], place: int
) -> tuple[TaxPart, ...]:
    """Net and tax by rate of the payment at `place`, so that all payments add up to the whole.

    Each payment is what is due up to it less what was due before it: the bases and taxes of all
    payments add up to those of `whole`, and each payment to its amount. A tax may differ from
    base × rate by a unit or two of the currency, within the tolerance of EN 16931's rule files
    for BR-CO-17. Raises QuoteError for a change that raises one tax and lowers another, unless it
    is paid at once.
    """
    if len(amounts) > 1 and len({part.base > 0 for part in whole.taxes if part.base}) > 1:
        raise QuoteError(
            "parts", "A price that raises one tax and lowers another is paid in one part: keep one."
        )
    upto = _tax_parts_up_to(whole, sum(amounts[: place + 1], Decimal(0)))
    before = _tax_parts_up_to(whole, sum(amounts[:place], Decimal(0)))
    return tuple(
        TaxPart(now.rate, now.base - then.base, now.tax - then.tax)
        for now, then in zip(upto, before, strict=True)
    )


def _tax_parts_up_to(whole: Totals, paid: Decimal) -> list[TaxPart]:
    if paid == whole.gross:
        return list(whole.taxes)
    taxes = [quantize(part.tax * paid / whole.gross, whole.currency) for part in whole.taxes]
    weights = [abs(part.base) for part in whole.taxes]
    bases = split(paid - sum(taxes), weights, whole.currency)
    return [
        TaxPart(part.rate, base, tax)
        for part, base, tax in zip(whole.taxes, bases, taxes, strict=True)
    ]

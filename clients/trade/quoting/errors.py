"""How money pages refuse what cannot be priced: the entry by name, and a sentence that mends it."""

from decimal import Decimal

from studio.trade.money import quantize

LARGEST = 10**12


class QuoteError(ValueError):
    """A quote, payment plan or invoice that cannot be: `field` names the entry."""

    def __init__(self, field: str, sentence: str):
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


def check_number(
    field: str,
    value: Decimal | int,
    subject: str,
    *,
    least: Decimal | int = 0,
    most: int = LARGEST,
    above_least: bool = False,
) -> None:
    """Raise QuoteError unless `value` is an exact number from `least` (or just above it) to `most`.

    Floats are refused: money and lengths are Decimal or int. `subject` starts the sentence.
    """
    exact = isinstance(value, Decimal | int) and not isinstance(value, bool)
    if not exact or not Decimal(value).is_finite():
        raise QuoteError(field, f"{subject} is {value}: enter a number.")
    if value < least or (above_least and value == least):
        wanted = f"a number above {least}" if above_least else f"{least} or more"
        raise QuoteError(field, f"{subject} is {value}: enter {wanted}.")
    if value > most:
        raise QuoteError(field, f"{subject} is {value}: enter {most:,} or less.")


def check_coins(field: str, amount: Decimal, subject: str, currency: str) -> None:
    """Raise QuoteError for an amount that no coins of its currency make up."""
    whole = quantize(amount, currency)
    if amount != whole:
        raise QuoteError(
            field, f"{subject} is {amount}, finer than the coins of {currency}: enter {whole}."
        )

"""Amounts and dates as a client reads them, in the client's language."""

from datetime import date
from decimal import Decimal

from babel.dates import format_date
from babel.numbers import format_currency, format_decimal

from studio.trade.money import quantize

PAGES = "en_GB"  # the language of the pages; papers have the client's own


def money(amount: Decimal, currency: str, language: str) -> str:
    """An amount with its currency. Decimals follow ISO 4217, not the language's own habit."""
    return format_currency(
        quantize(amount, currency),
        currency,
        locale=language,
        currency_digits=False,
        decimal_quantization=False,
    )


def unit_price(price: Decimal, currency: str, language: str) -> str:
    """A price of one, finer than the currency's coins where it is, so that it can be multiplied."""
    whole = quantize(price, currency)
    if price == whole:
        return money(price, currency, language)
    return format_currency(
        price.normalize(), currency, locale=language, currency_digits=False,
        decimal_quantization=False,
    )  # fmt: skip


def number(amount: Decimal, language: str) -> str:
    """A plain number without needless zeros."""
    return format_decimal(amount.normalize(), locale=language, decimal_quantization=False)


def day(when: date | None, language: str) -> str:
    """A date in words; empty for none."""
    return format_date(when, format="long", locale=language) if when else ""

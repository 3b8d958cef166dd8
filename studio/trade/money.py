"""Amounts of money: the minor units of each currency, rounding, and splitting without loss.

The digits are those of ISO 4217; locale data often differs (it writes IQD without decimals), so
these are the ones amounts are kept in, whatever a page shows.
"""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

# Active currencies and fund codes with a minor unit, ISO 4217 list one, January 2026.
_CODES = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN BZD
CAD CDF CHE CHF CHW CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP
GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR
KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN
MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD
SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX
USD USN UYI UYU UYW UZS VED VES VND VUV WST XAD XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""

# Digits after the decimal mark wherever they are not two.
_OTHER_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}

MINOR_UNITS: dict[str, int] = dict.fromkeys(_CODES.split(), 2) | {
    code: digits for digits, codes in _OTHER_DIGITS.items() for code in codes.split()
}


LARGEST_AMOUNT = Decimal(10) ** 15  # well inside the 28 digits `decimal` keeps


class MoneyError(ValueError):
    """A currency, amount or split that cannot be used; the message says how to mend it."""


def minor_units(code: str) -> int:
    """Digits after the decimal mark: 2 for EUR, 0 for JPY, 3 for KWD. Raises MoneyError for a
    code that is not an active one."""
    if code not in MINOR_UNITS:
        raise MoneyError(
            f"“{code}” is not an active currency code; write three capitals such as EUR."
        )
    return MINOR_UNITS[code]


def quantize(amount: Decimal, code: str) -> Decimal:
    """The amount in whole minor units of its currency, a half rounding away from zero.

    Raises MoneyError for an unknown currency and for an amount that is no number or
    beyond 10^15.
    """
    _check_number(amount)
    return amount.quantize(Decimal(1).scaleb(-minor_units(code)), ROUND_HALF_UP)


def split(total: Decimal, weights: Sequence[Decimal | int], code: str) -> list[Decimal]:
    """Share a total out in proportion to the weights, to the last minor unit.

    By largest remainder: every part gets its whole minor units, and those left over go one each
    to the parts that lost the most, the earlier part first where they lost the same. The parts
    always add up to the total; a negative total (a credit) is shared like its positive.

    Raises MoneyError for a total finer than the currency, for no weights, and for weights that
    are negative or all zero.
    """
    exact = quantize(total, code)
    if exact != total:
        raise MoneyError(
            f"{total} {code} is finer than the currency; round it to {exact} before splitting."
        )
    for weight in weights:
        _check_number(Decimal(weight))
        if weight < 0:
            raise MoneyError(f"A share cannot be negative, got {weight}; use 0 or more.")
    whole = sum(map(Fraction, weights))
    if whole == 0:
        raise MoneyError("At least one share must be more than 0, or there is nothing to split by.")
    places = minor_units(code)
    units = int(abs(exact).scaleb(places))
    quotas = [units * Fraction(weight) / whole for weight in weights]
    parts = [int(quota) for quota in quotas]
    lost = [quota - part for quota, part in zip(quotas, parts, strict=True)]
    neediest = sorted(range(len(parts)), key=lambda part: -lost[part])  # stable: earlier first
    for part in neediest[: units - sum(parts)]:
        parts[part] += 1
    sign = -1 if exact < 0 else 1
    return [Decimal(sign * part).scaleb(-places) for part in parts]


def _check_number(amount: Decimal) -> None:
    if not amount.is_finite():
        raise MoneyError(f"An amount must be a number, got {amount}; write digits such as 1250.00.")
    if abs(amount) > LARGEST_AMOUNT:
        raise MoneyError(f"An amount stops at {LARGEST_AMOUNT:,f}, got {amount}; write less.")

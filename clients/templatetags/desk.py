"""What the desk's templates need to print money."""

from decimal import Decimal

from django import template

from clients.queries import money_text

register = template.Library()


@register.filter
def money(amount: Decimal | str | None, currency: str) -> str:
    """An amount with its currency; nothing for none (a template's missing value is "")."""
    return "" if amount in (None, "") else money_text.money(amount, currency, money_text.PAGES)


@register.filter
def plain(number: Decimal | None) -> str:
    """A number without needless zeros."""
    return "" if number is None else money_text.number(Decimal(number), money_text.PAGES)


@register.filter
def across(share: float) -> str:
    """A share of 1 across a drawing 1000 wide."""
    return f"{1000 * share:.1f}"


@register.filter
def from_top(height: float) -> str:
    """Where a bar of that share of the height begins in a drawing 100 high."""
    return f"{100 - 100 * height:.1f}"


@register.filter
def upwards(height: float) -> str:
    """A share of the height in a drawing 100 high."""
    return f"{100 * height:.1f}"


@register.filter
def signed(number: Decimal | int) -> str:
    """A whole number with its sign; 0 has none."""
    return f"{number:+,}".replace("-", "−") if number else "0"

"""What the client sees of the lines: hidden ones folded in, so that the page still adds up.

Where a group holds a hidden line, the client sees the group as one line with one amount, and the
labels of its visible lines as what it includes. Spreading a hidden amount over the visible lines
would print a quantity and a price that no longer multiply to the amount beside them; leaving it
out would print lines that do not add up. Folding keeps every printed sum true.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from clients.trade.quoting.lines import Line, LineKind, PricedLine


@dataclass(frozen=True)
class ClientLine:
    """One line on the client's page, before tax. `line` is None for a folded group."""

    group: str
    label: str
    amount: Decimal
    tax_rate: Decimal | None
    quantity: Decimal | None = None
    price: Decimal | None = None
    line: Line | None = None
    includes: tuple[str, ...] = ()
    optional: bool = False


def client_lines(lines: Iterable[PricedLine]) -> tuple[ClientLine, ...]:
    """The lines as the client sees them, groups together, in the order groups first appear.

    The amounts that are not optional add up to the net total. A hidden optional line is not shown.
    A group is folded by tax rate, so a group of two rates may show two lines. `tax_rate` is None
    for a discount, which lowers several.
    """
    lines = [one for one in lines if not (one.line.hidden and one.line.optional)]
    folded = {_fold_key(one) for one in lines if one.line.hidden}
    headings = Counter(heading for heading, _ in folded)
    shown: dict[object, ClientLine] = {}
    for place, one in enumerate(lines):
        stands_alone = one.line.optional or one.line.kind == LineKind.DISCOUNT
        if stands_alone or _fold_key(one) not in folded:
            shown[place] = _as_it_is(one)
            continue
        key = _fold_key(one)
        so_far = shown.get(key) or ClientLine(
            one.line.heading, _folded_label(key, headings), Decimal(0), one.line.tax_rate
        )
        shown[key] = ClientLine(
            so_far.group,
            so_far.label,
            so_far.amount + one.amount,
            so_far.tax_rate,
            includes=so_far.includes + (() if one.line.hidden else (one.line.label,)),
        )
    groups = list(dict.fromkeys(line.group for line in shown.values()))
    return tuple(sorted(shown.values(), key=lambda line: groups.index(line.group)))


def _folded_label(key: tuple[str, Decimal | None], headings: Counter[str]) -> str:
    """The group's name; with its tax where the group is folded at several rates."""
    heading, rate = key
    return heading if headings[heading] == 1 else f"{heading}, at {rate.normalize():f} % tax"


def _fold_key(one: PricedLine) -> tuple[str, Decimal | None]:
    return one.line.heading, _tax_rate(one)


def _tax_rate(one: PricedLine) -> Decimal | None:
    return one.taxed[0].tax_rate if len(one.taxed) == 1 else None


def _as_it_is(one: PricedLine) -> ClientLine:
    return ClientLine(
        one.line.heading,
        one.line.label,
        one.amount,
        _tax_rate(one),
        one.quantity,
        one.price,
        one.line,
        optional=one.line.optional,
    )

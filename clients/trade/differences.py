"""Two revisions, or two options, compared line by line; the lines of a change order are these."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from clients.trade.quoting.lines import PricedLine
from clients.trade.quoting.pricing import PricedOption
from clients.trade.quoting.totals import TaxedAmount, Totals, totals


@dataclass(frozen=True)
class LineDifference:
    """A price line that changed. `before` or `after` is None for a line added or taken away.

    `change` is in the total before tax (an optional line is outside it). `words` say what changed.
    """

    label: str
    before: PricedLine | None
    after: PricedLine | None
    change: Decimal
    words: tuple[str, ...]


@dataclass(frozen=True)
class SequenceDifference:
    """A sequence added, lengthened, changed or cut, in frames on screen and pictures to take."""

    label: str
    frames: int
    pictures: int
    words: tuple[str, ...]


@dataclass(frozen=True)
class Comparison:
    """What the second differs in; both tuples are empty where nothing changed.

    `totals` are the totals of the change alone, each tax rate on its own change (EN 16931
    BR-CO-17), and may be negative: they are what a change order adds to the price agreed.
    """

    lines: tuple[LineDifference, ...]
    sequences: tuple[SequenceDifference, ...]
    pictures: int
    days_even: int
    days_chosen: int
    totals: Totals


def compare(before: PricedOption, after: PricedOption) -> Comparison:
    """How `after` differs from `before`, priced in the same currency."""
    lines = tuple(line_differences(before.lines, after.lines))
    taxed = [
        TaxedAmount(sign * part.amount, part.tax_rate)
        for difference in lines
        for sign, one in ((-1, difference.before), (1, difference.after))
        if one and not one.line.optional
        for part in one.taxed
    ]
    return Comparison(
        lines=lines,
        sequences=tuple(_sequence_differences(before, after)),
        pictures=after.work.pictures - before.work.pictures,
        days_even=after.days.even - before.days.even,
        days_chosen=after.days.chosen - before.days.chosen,
        totals=totals(taxed, [], after.currency),
    )


def line_differences(
    before: Sequence[PricedLine], after: Sequence[PricedLine]
) -> Iterable[LineDifference]:
    """The lines that differ: same label and kind are the same line, then same kind, renamed."""
    for old, new in _pairs(before, after, _line_keys):
        change = _in_total(new) - _in_total(old)
        if old and new:
            words = (
                *_changed_fields(old.line, new.line),
                *_changed_fields(old, new, ("quantity", "price", "amount")),
            )
            # A quantity left open shows as the quantity counted, a typed rate as the price.
            words = tuple(dict.fromkeys(words))
        else:
            words = ("added",) if new else ("taken away",)
        if words:
            yield LineDifference((new or old).line.label, old, new, change, words)


def _line_keys(one: PricedLine) -> tuple:
    return (one.line.kind, one.line.label), one.line.kind


def _sequence_differences(
    before: PricedOption, after: PricedOption
) -> Iterable[SequenceDifference]:
    pairs = _pairs(
        before.option.sequences, after.option.sequences, lambda one: (one.label, one.label)
    )
    for old, new in pairs:
        if old and new:
            words = _changed_fields(old, new)
        else:
            words = ("added",) if new else ("cut",)
        old_length = old and old.length(before.option.rate)
        new_length = new and new.length(after.option.rate)
        if words or old_length != new_length:
            yield SequenceDifference(
                (new or old).label,
                (new_length.screen_frames if new else 0) - (old_length.screen_frames if old else 0),
                (new_length.pictures if new else 0) - (old_length.pictures if old else 0),
                words,
            )


def _pairs(before: Sequence, after: Sequence, keys: Callable[[object], tuple]) -> list[tuple]:
    """Pair what is the same thing, by the first key and then by the second; (x, None) is gone.

    In the order of `after`, followed by what was taken away.
    """
    partner: dict[int, int] = {}
    free = dict(enumerate(before))
    for which in (0, 1):
        for place, new in enumerate(after):
            if place in partner:
                continue
            match = next(
                (n for n, old in free.items() if keys(old)[which] == keys(new)[which]), None
            )
            if match is not None:
                partner[place] = match
                del free[match]
    pairs = [
        (before[partner[place]] if place in partner else None, new)
        for place, new in enumerate(after)
    ]
    return pairs + [(old, None) for old in free.values()]


def _changed_fields(old: object, new: object, names: Iterable[str] = ()) -> tuple[str, ...]:
    names = names or [field.name for field in fields(old)]
    return tuple(
        f"{name.replace('_', ' ')}: {_shown(getattr(old, name))} → {_shown(getattr(new, name))}"
        for name in names
        if getattr(old, name) != getattr(new, name)
    )


def _shown(value: object) -> str:
    if value is None or value in ("", ()):
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(str(one) for one in value)
    return str(value)


def _in_total(one: PricedLine | None) -> Decimal:
    return one.amount if one and not one.line.optional else Decimal(0)

"""What a person does with a draft of a quote: start, copy, save; and the lines kept in stock."""

from decimal import Decimal

from django.db import transaction

from clients.models import (
    Client,
    DayRate,
    DraftKept,
    LineTemplate,
    Quote,
    QuoteLine,
    QuoteOption,
    QuotePayment,
    QuoteSequence,
)
from clients.queries import quotes as queries
from clients.queries.earnings import usual_costs
from clients.trade.earnings import BOUGHT
from clients.trade.payment import PaymentPart
from clients.trade.quoting.draft import Draft, DraftLine, DraftPart
from clients.trade.quoting.lines import Basis, Line, LineKind
from clients.trade.quoting.option import Option
from clients.trade.quoting.three_point import ThreePoint
from shots.models import Difficulty
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Person

# What most small studios put on a first quote (common practice, no source); every figure is theirs.
# What comes to nothing is not printed.
FIRST_LINES = (
    ("Preparation", LineKind.PRE_PRODUCTION),
    ("Puppets and sets", LineKind.BUILDS),
    ("Edit, grade and export", LineKind.EDIT),
    ("Sound", LineKind.SOUND),
    ("Materials", LineKind.MATERIALS),
)
FIRST_PAYMENTS = (
    PaymentPart("on acceptance", percent=Decimal(40)),
    PaymentPart("at picture lock", percent=Decimal(40)),
    PaymentPart("on delivery"),
)


@transaction.atomic
def start_quote(client: Client, fields: dict, option: Option, animator: Person) -> Quote:
    """A new draft of one option, with the lines and the plan the studio usually has.

    `fields` are title, first_day, tax_rate and day_rate, which is kept for the next quote.
    """
    rate = fields.pop("day_rate")
    DayRate.objects.update_or_create(person=animator, defaults={"rate": rate})
    quote = Quote.objects.create(client=client, currency=client.currency, **fields)
    lines = _first_lines(rate, fields["tax_rate"], client.currency)
    plan = tuple(DraftPart(part) for part in FIRST_PAYMENTS)
    _write(quote, Draft((option,), lines, plan, quote.currency))
    return quote


def _first_lines(rate: Decimal, tax: Decimal, currency: str) -> tuple[DraftLine, ...]:
    """Animation and contingency, then the lines in stock; without any, those of FIRST_LINES, what
    is bought at what it cost in the films delivered so far."""
    lines = [
        Line("Animation", LineKind.ANIMATION, Basis.DAYS, rate, tax_rate=tax),
        Line("Contingency", LineKind.CONTINGENCY, Basis.DAYS, None, tax_rate=tax),
    ]
    usual = LineTemplate.objects.filter(usual=True)
    if usual:
        lines += [queries.line_of(vars(template)) for template in usual]
    else:
        cost = usual_costs(currency)
        for label, kind in FIRST_LINES:
            known = label in cost and kind in BOUGHT
            amount = cost[label].amount if known else Decimal(0)
            lines.append(Line(label, kind, Basis.FIXED, amount, tax_rate=tax))
    return tuple(DraftLine(line) for line in lines)


@transaction.atomic
def copy_quote(source: Quote, client: Client, title: str) -> Quote:
    """A new draft with everything another quote has but its number."""
    quote = Quote(client=client, title=title, currency=source.currency)
    copy_parts(source, quote)
    return quote


@transaction.atomic
def save_draft(
    quote: Quote, read_version: int, fields: dict, draft: Draft, stood: dict[str, str]
) -> Quote:
    """Save the builder whole: the quote's fields, and all its rows anew.

    `stood` are the entries of the builder of `quote` as it was stored; they are kept.
    """
    current = locked(quote)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was sent meanwhile: make the next revision instead.")
    if not current.version == read_version == quote.version:
        raise EditedMeanwhile(current)
    DraftKept.objects.create(quote=current, version=current.version, entries=stood)
    for name, value in fields.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    _write(current, draft)
    return current


def _write(quote: Quote, draft: Draft) -> None:
    """Put a draft's rows in the place of those the quote has."""
    quote.options.all().delete()
    quote.lines.all().delete()
    quote.payments.all().delete()
    options = QuoteOption.objects.bulk_create(
        QuoteOption(
            quote=quote,
            label=option.label,
            rate_numerator=option.rate.numerator,
            rate_denominator=option.rate.denominator,
            runtime=option.runtime,
            position=place,
        )
        for place, option in enumerate(draft.options)
    )
    difficulties = {row.name: row for row in Difficulty.objects.all()}
    QuoteSequence.objects.bulk_create(
        QuoteSequence(
            option=row,
            position=place,
            **(vars(sequence) | {"difficulty": difficulties[sequence.difficulty]}),
        )
        for row, option in zip(options, draft.options, strict=True)
        for place, sequence in enumerate(option.sequences)
    )
    QuoteLine.objects.bulk_create(
        QuoteLine(
            quote=quote,
            option=None if one.option is None else options[one.option],
            position=place,
            **line_fields(one.line),
        )
        for place, one in enumerate(draft.lines)
    )
    QuotePayment.objects.bulk_create(
        QuotePayment(quote=quote, due_on=one.due_on, position=place, **vars(one.part))
        for place, one in enumerate(draft.payments)
    )


def line_fields(line: Line) -> dict:
    """A price line as it is stored."""
    guesses = line.quantity if isinstance(line.quantity, ThreePoint) else None
    licence = line.licence
    return {
        "label": line.label,
        "kind": line.kind.value,
        "basis": line.basis.value,
        "rate": line.rate,
        "quantity": guesses.likely if guesses else line.quantity,
        "quantity_best": guesses.optimistic if guesses else None,
        "quantity_worst": guesses.pessimistic if guesses else None,
        "unit": line.unit,
        "pictures_per_hour": line.pictures_per_hour,
        "of": line.of[0].value if line.of else "",
        "tax_rate": line.tax_rate,
        "hidden": line.hidden,
        "optional": line.optional,
        "group": line.group,
        "territory": licence.territory if licence else "",
        "media": licence.media if licence else "",
        "term": licence.term if licence else "",
    }


@transaction.atomic
def keep_line(line: Line) -> LineTemplate:
    """Keep a line in stock for other quotes; one of the same name gives way."""
    LineTemplate.objects.filter(label=line.label, kind=line.kind.value).delete()
    return LineTemplate.objects.create(position=LineTemplate.objects.count(), **line_fields(line))


@transaction.atomic
def keep_stock(day_rates, templates) -> None:
    """Save day rates and lines in stock from their valid formsets."""
    day_rates.save()
    templates.save()


def locked(quote: Quote) -> Quote:
    """The quote as it now stands; whoever else wants to change it waits."""
    return Quote.objects.select_for_update(of=("self",)).get(pk=quote.pk)


_SHARED = (
    "film", "included", "language", "confidence", "valid_days", "first_day", "revision_rounds",
    "tax_rate", "tax_note",
)  # fmt: skip


def copy_parts(source: Quote, target: Quote) -> None:
    """Everything of a quote but its number, client, title and currency, into a new one."""
    for name in _SHARED:
        setattr(target, name, getattr(source, name))
    target.save()
    _write(target, queries.draft_of(queries.quote_with_parts(source.pk)))

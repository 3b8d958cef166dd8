"""What a person does with a quote: draft, send, revise, answer."""

import hashlib
import secrets
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max

from clients.documents.quote import quote_pdf
from clients.models import (
    Acceptance,
    Client,
    ClientLink,
    Commission,
    Quote,
    QuoteLine,
    QuoteOption,
    QuotePayment,
    QuoteSequence,
    SentQuote,
)
from clients.queries import quotes as queries
from clients.trade.quoting.backwards import usual_exposure
from clients.trade.quoting.draft import Offer
from shots.models import Difficulty, Production, Setup, Shot
from shots.trade.shot_codes import free_code
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Studio

LINK_DAYS = 60

# What most small studios put on a first quote (common practice, no source); every figure is theirs.
FIRST_LINES = (
    {"label": "Animation", "kind": "animation", "basis": "days × rate", "rate": 300},
    {"label": "Contingency", "kind": "contingency", "basis": "days × rate", "rate": None},
    {"label": "Preparation", "kind": "pre-production", "basis": "fixed", "rate": 0},
    {"label": "Puppets and sets", "kind": "builds", "basis": "fixed", "rate": 0},
    {"label": "Edit, grade and export", "kind": "edit", "basis": "fixed", "rate": 0},
    {"label": "Materials", "kind": "materials", "basis": "fixed", "rate": 0},
)
FIRST_PAYMENTS = (
    {"milestone": "on acceptance", "percent": 40},
    {"milestone": "at picture lock", "percent": 40},
    {"milestone": "on delivery"},
)


@transaction.atomic
def start_quote(client: Client, title: str, copy_of: Quote | None = None) -> Quote:
    """A new draft for a client: a copy of another quote, or the usual lines and one sequence."""
    quote = Quote.objects.create(client=client, title=title, currency=client.currency)
    if copy_of:
        _copy_parts(copy_of, quote)
        return quote
    option = QuoteOption.objects.create(quote=quote)
    difficulty = Difficulty.objects.first()
    if difficulty is None:
        raise NotPossible("Name your difficulties first, under Studio: a price hangs on them.")
    QuoteSequence.objects.create(option=option, label="The film", seconds=30, difficulty=difficulty)
    QuoteLine.objects.bulk_create(
        QuoteLine(quote=quote, position=n, **line) for n, line in enumerate(FIRST_LINES)
    )
    QuotePayment.objects.bulk_create(
        QuotePayment(quote=quote, position=n, **part) for n, part in enumerate(FIRST_PAYMENTS)
    )
    return quote


@transaction.atomic
def save_draft(quote: Quote, read_version: int, fields: dict, parts: list) -> Quote:
    """Save the builder. `parts` are the valid formsets of options, sequences, lines, payments."""
    current = _locked(quote)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was sent meanwhile: make the next revision instead.")
    if current.version != read_version:
        raise EditedMeanwhile(current)
    for name, value in fields.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    for formset in parts:
        formset.save()
        kept = [form.instance for form in formset.forms if form.instance.pk]
        for position, row in enumerate(kept):
            type(row).objects.filter(pk=row.pk).update(position=position)
    return current


@transaction.atomic
def add_option(quote: Quote) -> QuoteOption:
    """One more way of making the film: a copy of the last one, to change."""
    last = quote.options.last()
    option = QuoteOption.objects.create(
        quote=quote,
        label=f"Option {quote.options.count() + 1}",
        rate_numerator=last.rate_numerator,
        rate_denominator=last.rate_denominator,
        runtime=last.runtime,
        position=last.position + 1,
    )
    _copy_rows(last.sequences.all(), option=option)
    return option


@transaction.atomic
def drop_option(option: QuoteOption) -> None:
    """Take an option off a draft; one must stay."""
    quote = _locked(option.quote)
    if not quote.is_draft:
        raise NotPossible(f"{quote.name} was sent: it does not change any more.")
    if quote.options.count() == 1:
        raise NotPossible("A quote needs one option at least: change this one instead.")
    option.delete()


@transaction.atomic
def send_quote(quote: Quote, studio: Studio, now: datetime, today: date) -> Quote:
    """Give the quote its number, keep its PDF, and freeze it. Raises NotPossible."""
    # One number after another without gaps: whoever sends, sends alone.
    Studio.objects.select_for_update().get(pk=studio.pk)
    current = _locked(quote)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was sent already.")
    whole = queries.quote_with_parts(current.pk)
    priced = queries.price_quote(whole, studio, today)
    if priced.refusal:
        raise NotPossible(f"It cannot be sent yet. {priced.refusal}")
    if whole.number is None:
        whole.year, whole.number = today.year, _next_number(today.year)
    whole.valid_until = today + timedelta(days=whole.valid_days)
    whole.status, whole.sent_at = Quote.Status.SENT, now
    whole.version += 1
    whole.save()
    paper = queries.quote_paper(whole, priced.offers, studio, today, whole.valid_until)
    pdf = quote_pdf(paper)
    SentQuote.objects.create(
        quote=whole,
        pdf=pdf,
        sha256=hashlib.sha256(pdf).hexdigest(),
        offers=[
            {
                "label": option.label,
                "total": option.total,
                "days": option.days,
                "finish": offer.finish.isoformat() if offer.finish else "",
                "gross": str(offer.priced.totals.gross),
            }
            for option, offer in zip(paper.options, priced.offers, strict=True)
        ],
    )
    if whole.replaces_id:
        replaced = Quote.objects.filter(pk=whole.replaces_id, status=Quote.Status.SENT)
        replaced.update(status=Quote.Status.LAPSED, answered_at=now)
    return whole


def _next_number(year: int) -> int:
    return (Quote.objects.filter(year=year).aggregate(last=Max("number"))["last"] or 0) + 1


@transaction.atomic
def revise_quote(quote: Quote) -> Quote:
    """The next revision of a sent quote: a draft with the same number and everything in it."""
    current = _locked(quote)
    if current.is_draft:
        raise NotPossible("This is a draft: change it as it is.")
    if current.status == Quote.Status.ACCEPTED:
        raise NotPossible("It was accepted: changes are change orders from now on.")
    newer = Quote.objects.filter(replaces=current).first()
    if newer:
        raise NotPossible(f"Revision {newer.revision} exists already: go on with that one.")
    revision = Quote.objects.create(
        client=current.client,
        title=current.title,
        currency=current.currency,
        year=current.year,
        number=current.number,
        revision=current.revision + 1,
        replaces=current,
    )
    _copy_parts(current, revision)
    return revision


@transaction.atomic
def decline_quote(quote: Quote, now: datetime) -> Quote:
    """The client said no."""
    return _answer(quote, Quote.Status.DECLINED, now)


@transaction.atomic
def make_link(quote: Quote, now: datetime) -> str:
    """A private address for the client; returns its secret, which is kept nowhere."""
    if quote.is_draft:
        raise NotPossible("Send the quote first: a draft is not for the client's eyes.")
    token = secrets.token_urlsafe(32)
    ClientLink.objects.create(
        quote=quote,
        token_hash=hash_of(token),
        created_at=now,
        expires_at=now + timedelta(days=LINK_DAYS),
    )
    return token


@transaction.atomic
def revoke_link(link: ClientLink, now: datetime) -> None:
    """Close a private address."""
    ClientLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now)


def hash_of(token: str) -> str:
    """What is kept of a link's secret."""
    return hashlib.sha256(token.encode()).hexdigest()


def open_link(token: str, now: datetime) -> ClientLink | None:
    """The link a secret opens, or None where it is unknown, expired or revoked."""
    link = (
        ClientLink.objects.select_related("quote__client")
        .filter(token_hash=hash_of(token), revoked_at=None, expires_at__gt=now)
        .first()
    )
    if link:
        ClientLink.objects.filter(pk=link.pk).update(last_seen_at=now)
    return link


@transaction.atomic
def accept_quote(
    quote: Quote,
    option: QuoteOption,
    name: str,
    studio: Studio,
    now: datetime,
    today: date,
    by_link: ClientLink | None = None,
) -> Production:
    """Accept one option of a sent quote: the production stands in the same moment.

    Of two people accepting at once the first wins; the other gets NotPossible.
    """
    current = _locked(quote)
    _refuse_unless_open(current, today)
    offer = _offer_of(current, option, studio, today)
    production = _open_production(current, option, offer)
    Acceptance.objects.create(
        quote=current, option=option, name=name, at=now, by_link=by_link,
        sha256=current.sent.sha256,
    )  # fmt: skip
    current.production = production
    current.status, current.answered_at = Quote.Status.ACCEPTED, now
    current.version += 1
    current.save()
    return production


def _refuse_unless_open(quote: Quote, today: date) -> None:
    if quote.status == Quote.Status.ACCEPTED:
        raise NotPossible(f"{quote.name} was accepted already: nothing changed just now.")
    if quote.has_lapsed(today):
        raise NotPossible(f"{quote.name} is not valid any more: ask for a new one.")
    if quote.status != Quote.Status.SENT:
        raise NotPossible(f"{quote.name} is {quote.get_status_display()}: it cannot be accepted.")


def _offer_of(quote: Quote, option: QuoteOption, studio: Studio, today: date) -> Offer:
    whole = queries.quote_with_parts(quote.pk)
    place = [one.pk for one in whole.options.all()].index(option.pk)
    return queries.price_quote(whole, studio, today).offers[place]


def _open_production(quote: Quote, option: QuoteOption, offer: Offer) -> Production:
    """The film as it was quoted: its set-ups, a shot for each sequence, the budget agreed."""
    printed = next(one for one in quote.sent.offers if one["label"] == option.label)
    priced = offer.priced.option
    production = Production.objects.create(
        code=_free_production_code(quote.title),
        title=quote.title,
        rate_numerator=option.rate_numerator,
        rate_denominator=option.rate_denominator,
        exposure=usual_exposure(priced),
        contracted_frames=priced.frames,
        start=quote.first_day,
        deadline=date.fromisoformat(printed["finish"])
        if quote.first_day and printed["finish"]
        else None,
    )
    Commission.objects.create(production=production, client=quote.client)
    setup, setups = None, 0
    rows = option.sequences.select_related("difficulty")
    for position, (row, sequence) in enumerate(zip(rows, priced.sequences, strict=True)):
        for extra in range(row.setups):
            setups += 1
            made = Setup.objects.create(
                production=production, code=f"S{setups:02}", name=row.label, position=setups
            )
            setup = made if extra == 0 else setup
        _make_shot(production, setup, row, sequence.length(option.rate), position)
    return production


def _make_shot(production, setup, row, length, position: int) -> None:
    shot = Shot(
        production=production,
        setup=setup,
        code=f"{(position + 1) * 10:03}",
        description=row.label,
        position=position,
        difficulty=row.difficulty,
        screen_frames=length.screen_frames,
        exposure=length.exposure,
        held_frames=length.held_frames,
        holds=length.holds,
        reused_frames=length.reused_frames,
    )
    shot.agreed_pictures = shot.budget
    shot.save()


def _free_production_code(title: str) -> str:
    letters = "".join(letter for letter in title.upper() if letter.isascii() and letter.isalnum())
    taken = {code.upper() for code in Production.objects.values_list("code", flat=True)}
    code = letters[:8] or "FILM"
    return code if code not in taken else free_code(code, taken)


def _answer(quote: Quote, status: str, now: datetime) -> Quote:
    current = _locked(quote)
    if current.status != Quote.Status.SENT:
        raise NotPossible(f"{current.name} is {current.get_status_display()} already.")
    current.status, current.answered_at = status, now
    current.version += 1
    current.save(update_fields=["status", "answered_at", "version"])
    return current


def _locked(quote: Quote) -> Quote:
    return Quote.objects.select_for_update(of=("self",)).get(pk=quote.pk)


_SHARED = (
    "film", "included", "language", "confidence", "valid_days", "first_day", "revision_rounds",
    "tax_note",
)  # fmt: skip


def _copy_parts(source: Quote, target: Quote) -> None:
    for name in _SHARED:
        setattr(target, name, getattr(source, name))
    target.save()
    for option in source.options.all():
        sequences = list(option.sequences.all())
        (copy,) = _copy_rows([option], quote=target)
        _copy_rows(sequences, option=copy)
    _copy_rows(source.lines.all(), quote=target)
    _copy_rows(source.payments.all(), quote=target)


def _copy_rows(rows, **owner) -> list:
    copies = []
    for row in rows:
        values = {
            field.name: getattr(row, field.name)
            for field in row._meta.concrete_fields
            if not field.primary_key
        }
        copies.append(type(row).objects.create(**(values | owner)))
    return copies

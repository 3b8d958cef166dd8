"""What a person does with a quote from its sending on: send, revise, answer, accept."""

from datetime import date, datetime

from django.db import transaction

from clients.documents.quote import quote_pdf
from clients.models import Acceptance, ClientLink, Commission, Quote, QuoteOption, SentQuote
from clients.queries import quotes as queries
from clients.queries.quote_paper import quote_paper
from clients.queries.quotes import PricedQuote
from clients.services import answers, private_links
from clients.services.papers import keep_paper
from clients.services.quote_drafts import copy_parts, locked
from clients.trade.quoting.backwards import usual_exposure
from clients.trade.quoting.draft import Offer
from clients.trade.quoting.shots import shot_plan
from shots.models import Difficulty, Production, Setup, Shot
from shots.services.quoted import keep_quoted
from shots.trade.shot_codes import free_code
from studio.errors import NotPossible
from studio.models import Studio
from studio.queries import next_number


@transaction.atomic
def send_quote(quote: Quote, studio: Studio, now: datetime, today: date) -> Quote:
    """Give the quote its number, keep its PDF and figures, and freeze it. Raises NotPossible."""
    # One number after another without gaps: whoever sends, sends alone.
    Studio.objects.select_for_update().get(pk=studio.pk)
    current = locked(quote)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was sent already.")
    replaced = locked(current.replaces) if current.replaces_id else None
    if replaced and replaced.status == Quote.Status.ACCEPTED:
        raise NotPossible(
            f"{replaced.name} was accepted meanwhile: changes are change orders from now on."
        )
    whole = queries.quote_with_parts(current.pk)
    priced = queries.price_quote(whole, studio, today)
    if priced.refusal:
        raise NotPossible(f"It cannot be sent yet. {priced.refusal}")
    if whole.number is None:
        whole.year, whole.number = today.year, next_number(Quote.objects.filter(year=today.year))
    whole.valid_until = queries.valid_until(whole, today)
    whole.status, whole.sent_at = Quote.Status.SENT, now
    whole.version += 1
    whole.save()
    _keep_as_sent(whole, priced, studio, today)
    if replaced and replaced.status == Quote.Status.SENT:
        answers.close(replaced, Quote.Status.LAPSED, now, "Replaced by the next revision.")
    return whole


def _keep_as_sent(quote: Quote, priced: PricedQuote, studio: Studio, today: date) -> None:
    paper = quote_paper(quote, priced.offers, priced.plan, studio, today, quote.valid_until)
    offers = [
        {"label": option.label, "total": option.total, "days": option.days}
        for option in paper.options
    ]
    keep_paper(SentQuote, quote_pdf(paper), priced.offers, paper, quote=quote, offers=offers)


@transaction.atomic
def revise_quote(quote: Quote) -> Quote:
    """The next revision of a sent quote: a draft with the same number and everything in it."""
    current = locked(quote)
    if current.is_draft:
        raise NotPossible("This is a draft: change it as it is.")
    if current.status == Quote.Status.ACCEPTED:
        raise NotPossible("It was accepted: changes are change orders from now on.")
    newer = Quote.objects.filter(replaces=current).first()
    if newer:
        raise NotPossible(f"Revision {newer.revision} exists already: go on with that one.")
    revision = Quote(
        client=current.client,
        title=current.title,
        currency=current.currency,
        year=current.year,
        number=current.number,
        revision=current.revision + 1,
        replaces=current,
    )
    copy_parts(current, revision)
    return revision


@transaction.atomic
def archive_quote(quote: Quote, now: datetime) -> None:
    """Put a draft aside, or a quote that came to nothing; one that is open stays in sight."""
    answers.put_aside(locked(quote), now)


@transaction.atomic
def decline_quote(quote: Quote, now: datetime, words: str = "") -> Quote:
    """The client said no, perhaps with a reason."""
    return answers.close(locked(quote), Quote.Status.DECLINED, now, words)


@transaction.atomic
def lapse_quote(quote: Quote, now: datetime) -> Quote:
    """Nobody answers any more: close the quote before its time."""
    return answers.close(locked(quote), Quote.Status.LAPSED, now)


@transaction.atomic
def make_link(quote: Quote, now: datetime) -> str:
    """A private address for the client; returns its secret, which is kept nowhere."""
    current = locked(quote)
    if current.is_draft:
        raise NotPossible("Send the quote first: a draft is not for the client's eyes.")
    ends = private_links.end_of(current.valid_until, now)
    return private_links.make_link(ClientLink, now, ends, quote=current)


def open_link(token: str, now: datetime) -> ClientLink | None:
    """The link a secret opens, or None where it is unknown, expired or revoked."""
    return private_links.open_link(ClientLink.objects.select_related("quote__client"), token, now)


@transaction.atomic
def accept_quote(
    quote: Quote,
    option: QuoteOption,
    name: str,
    now: datetime,
    today: date,
    by_link: ClientLink | None = None,
) -> Production:
    """Accept one option of a sent quote: the production stands in the same moment.

    Of two people accepting at once the first wins; the other gets NotPossible.
    """
    current = locked(quote)
    answers.refuse_unless_open(current, today)
    places = [one.pk for one in current.options.all()]
    if option.pk not in places:
        raise NotPossible("That option is not on this quote: choose one that is.", "option")
    offer = queries.offers_of(current.sent)[places.index(option.pk)]
    production = _open_production(current, option, offer)
    Acceptance.objects.create(
        quote=current, option=option, name=name, at=now, by_link=by_link,
        sha256=current.sent.sha256,
    )  # fmt: skip
    current.production = production
    current.save(update_fields=["production"])
    answers.close(current, Quote.Status.ACCEPTED, now)
    return production


def _open_production(quote: Quote, option: QuoteOption, offer: Offer) -> Production:
    """The film as it was quoted: its set-ups, its shots, the budget agreed, the days promised."""
    quoted = offer.priced.option
    production = Production.objects.create(
        code=_free_production_code(quote.title),
        title=quote.title,
        rate_numerator=quoted.rate.numerator,
        rate_denominator=quoted.rate.denominator,
        exposure=usual_exposure(quoted),
        contracted_frames=quoted.frames,
        start=quote.first_day,
        deadline=offer.finish if quote.first_day else None,
    )
    Commission.objects.create(production=production, client=quote.client)
    sequences = list(option.sequences.select_related("difficulty"))
    keep_offered(production, offer, [row.difficulty for row in sequences])
    plan = shot_plan(quoted)
    setups = {
        setup.code: Setup.objects.create(
            production=production, code=setup.code, name=setup.name, position=position
        )
        for position, setup in enumerate(plan.setups)
    }
    for position, shot in enumerate(plan.shots):
        length, sequence = shot.length, sequences[shot.sequence]
        Shot.objects.create(
            production=production,
            setup=setups.get(shot.setup),
            code=shot.code,
            description=sequence.label,
            position=position,
            difficulty=sequence.difficulty,
            screen_frames=length.screen_frames,
            exposure=length.exposure,
            held_frames=length.held_frames,
            holds=length.holds,
            reused_frames=length.reused_frames,
            handle_frames=length.handles,
            agreed_pictures=shot.agreed,
        )
    return production


def keep_offered(production: Production, offer: Offer, difficulties: list[Difficulty]) -> None:
    """Keep the days and the pace of the option accepted, where the floor is held against them.

    `difficulties` are those of its sequences: one may have another name by now.
    """
    priced = offer.priced
    named = dict(
        zip((one.difficulty for one in priced.option.sequences), difficulties, strict=True)
    )
    keep_quoted(
        production,
        even=priced.days.even,
        promised=priced.days.chosen,
        chance=priced.days.confidence,
        paces=[
            (named[name], pictures, offer.pace[name])
            for name, pictures in priced.work.pictures_by_difficulty.items()
        ],
    )


def _free_production_code(title: str) -> str:
    letters = "".join(letter for letter in title.upper() if letter.isascii() and letter.isalnum())
    taken = {code.upper() for code in Production.objects.values_list("code", flat=True)}
    code = letters[:8] or "FILM"
    return code if code not in taken else free_code(code, taken)

"""What a person does with a change order: draft, send, answer, accept."""

from datetime import date, datetime

from django.db import transaction

from clients.documents.change_order import change_order_pdf
from clients.models import (
    ChangeAcceptance,
    ChangeLine,
    ChangeOrder,
    ChangeOrderLink,
    Quote,
    SentChangeOrder,
    ShotChange,
)
from clients.queries import change_orders as queries
from clients.queries.change_order_paper import change_order_paper
from clients.services import answers, deliverables, private_links
from clients.services.papers import keep_paper
from clients.trade.change import ChangedShot, PricedChange, extra_line
from clients.trade.quoting.errors import QuoteError
from shots.models import Production, Setup, Shot
from shots.services import shots as floor
from shots.services.quoted import grow_quoted
from shots.trade.budget import BudgetError, ShotLength
from shots.trade.shot_codes import free_code, next_code
from studio.errors import NotPossible
from studio.models import Studio
from studio.queries import next_number
from studio.services import save_changes


@transaction.atomic
def start_change_order(quote: Quote, title: str, reason: str = "") -> ChangeOrder:
    """A new draft. Raises NotPossible for a quote that is not accepted."""
    if quote.status != Quote.Status.ACCEPTED:
        raise NotPossible(f"{quote.name} is not accepted: make its next revision instead.")
    return ChangeOrder.objects.create(quote=quote, title=title, reason=reason)


@transaction.atomic
def save_details(order: ChangeOrder, read_version: int, fields: dict) -> ChangeOrder:
    """Save a draft's words and terms."""
    return save_changes(_draft(order), read_version, fields)


@transaction.atomic
def set_length(order: ChangeOrder, shot: Shot, screen_frames: int) -> ShotChange:
    """The shot gets another length. Raises NotPossible where its holds do not fit it."""
    change = _change_of(_draft(order), shot, ShotChange.Kind.LENGTH, screen_frames)
    try:
        queries.changed_shot(change, shot.production.rate)
    except QuoteError as error:
        raise NotPossible(error.sentence, "screen_frames") from error
    return _keep(change)


@transaction.atomic
def cut_shot(order: ChangeOrder, shot: Shot) -> ShotChange:
    """The shot leaves the film."""
    return _keep(_change_of(_draft(order), shot, ShotChange.Kind.CUT, shot.screen_frames))


def _change_of(order: ChangeOrder, shot: Shot, kind: str, frames: int) -> ShotChange:
    return ShotChange(
        order=order,
        kind=kind,
        shot=shot,
        code=shot.code,
        description=shot.description,
        screen_frames=frames,
        exposure=shot.exposure,
        difficulty=shot.difficulty,
        setup=shot.setup,
    )


def _keep(change: ShotChange) -> ShotChange:
    """One change a shot: a second takes the place of the first."""
    change.order.shot_changes.filter(shot=change.shot).delete()
    change.save()
    return change


@transaction.atomic
def add_shot(order: ChangeOrder, fields: dict) -> ShotChange:
    """A shot the film does not have yet. Raises NotPossible at "code" and "screen_frames"."""
    current = _draft(order)
    code = fields["code"]
    on_floor = current.quote.production.shots.current().filter(code__iexact=code)
    if on_floor.exists() or current.shot_changes.filter(code__iexact=code).exists():
        raise NotPossible(f"Another shot has the code {code} already. Choose another.", "code")
    try:
        ShotLength(fields["screen_frames"], fields["exposure"])
    except BudgetError as error:
        raise NotPossible(error.sentence, error.field) from error
    return ShotChange.objects.create(order=current, kind=ShotChange.Kind.ADDED, **fields)


@transaction.atomic
def add_line(order: ChangeOrder, fields: dict) -> ChangeLine:
    """What else the change costs, or takes off. Raises NotPossible at the entry."""
    current = _draft(order)
    try:
        extra_line(currency=current.quote.currency, **fields)
    except QuoteError as error:
        field = error.field if error.field in fields else "amount"
        raise NotPossible(error.sentence, field) from error
    return ChangeLine.objects.create(order=current, **fields)


@transaction.atomic
def take_out(order: ChangeOrder, row: ShotChange | ChangeLine) -> None:
    """Take a row out of a draft."""
    _draft(order)
    row.delete()


@transaction.atomic
def send_change_order(
    order: ChangeOrder, studio: Studio, now: datetime, today: date
) -> ChangeOrder:
    """Number it, keep its PDF and figures, and freeze it. Raises NotPossible.

    One at a time waits for its answer, so that what is agreed so far stays true on the paper.
    """
    _draft(order)
    whole = queries.change_order_with_parts(order.pk)
    for other in whole.quote.change_orders.waiting():
        if not other.has_lapsed(today):
            raise NotPossible(f"{other.name} waits for its answer: close it first.")
    price = queries.price_order(whole, studio, today)
    if price.refusal:
        raise NotPossible(f"It cannot be sent yet. {price.refusal}")
    whole.number = next_number(whole.quote.change_orders.all())
    whole.valid_until = queries.valid_until(whole, today)
    whole.status, whole.sent_at = ChangeOrder.Status.SENT, now
    whole.version += 1
    whole.save()
    paper = change_order_paper(whole, price.priced, studio, today, whole.valid_until)
    keep_paper(SentChangeOrder, change_order_pdf(paper), price.priced, paper, order=whole)
    return whole


@transaction.atomic
def decline_change_order(order: ChangeOrder, now: datetime, words: str = "") -> ChangeOrder:
    """The client said no, perhaps with a reason."""
    return answers.close(locked(order), ChangeOrder.Status.DECLINED, now, words)


@transaction.atomic
def lapse_change_order(order: ChangeOrder, now: datetime) -> ChangeOrder:
    """Nobody answers any more, or it was wrong: close it before its time."""
    return answers.close(locked(order), ChangeOrder.Status.LAPSED, now)


@transaction.atomic
def archive_change_order(order: ChangeOrder, now: datetime) -> None:
    """Put a draft, or an order that came to nothing, aside."""
    answers.put_aside(locked(order), now)


@transaction.atomic
def make_link(order: ChangeOrder, now: datetime) -> str:
    """A private address for the client; returns its secret, which is kept nowhere."""
    current = locked(order)
    if current.is_draft:
        raise NotPossible("Send it first: a draft is not for the client's eyes.")
    ends = private_links.end_of(current.valid_until, now)
    return private_links.make_link(ChangeOrderLink, now, ends, order=current)


def open_link(token: str, now: datetime) -> ChangeOrderLink | None:
    """The link a secret opens, or None where it is unknown, expired or revoked."""
    return private_links.open_link(
        ChangeOrderLink.objects.select_related("order__quote"), token, now
    )


@transaction.atomic
def accept_change_order(
    order: ChangeOrder,
    name: str,
    now: datetime,
    today: date,
    by_link: ChangeOrderLink | None = None,
) -> ChangeOrder:
    """Accept a change: shots, runtime, deadline and price agreed grow in the same moment.

    Of two people accepting at once the first wins; the other gets NotPossible.
    """
    current = locked(order)
    answers.refuse_unless_open(current, today)
    priced = queries.figures_of(current.sent)
    rows = current.shot_changes.select_related("shot", "setup", "difficulty")
    changes = list(zip(rows, priced.shots, strict=True))
    for row, changed in changes:
        _apply(row, changed)
    _grow(current.quote.production, priced)
    grow_quoted(
        current.quote.production,
        priced.after.days_even,
        priced.after.days,
        [(row.difficulty, changed.pictures) for row, changed in changes],
    )
    ChangeAcceptance.objects.create(
        order=current, name=name, at=now, by_link=by_link, sha256=current.sent.sha256
    )
    return answers.close(current, ChangeOrder.Status.ACCEPTED, now)


def _apply(row: ShotChange, changed: ChangedShot) -> None:
    if row.kind == ShotChange.Kind.LENGTH:
        floor.agree_length(row.shot, row.screen_frames, changed.pictures)
    elif row.kind == ShotChange.Kind.CUT:
        floor.agree_cut(row.shot, -changed.pictures)
    else:
        row.shot = _new_shot(row, changed.pictures)
        row.save(update_fields=["shot"])


def _new_shot(row: ShotChange, pictures: int) -> Shot:
    production = row.order.quote.production
    codes = list(production.shots.values_list("code", flat=True))
    taken = row.code.casefold() in {code.casefold() for code in codes}
    fields = {
        "code": free_code(row.code, codes) if taken else row.code,
        "description": row.description,
        "difficulty": row.difficulty,
        "screen_frames": row.screen_frames,
        "exposure": row.exposure,
        "agreed_pictures": pictures,
        "setup": _new_setup(production, row) if row.new_setup else row.setup,
    }
    return floor.add_shot(production, fields)


def _new_setup(production: Production, row: ShotChange) -> Setup:
    codes = list(production.setups.values_list("code", flat=True))
    code = next_code(codes) or free_code("S", codes)
    return Setup.objects.create(
        production=production, code=code, name=row.description or row.code, position=len(codes)
    )


def _grow(production: Production, priced: PricedChange) -> None:
    changes = {"deadline": priced.finish or production.deadline}
    if production.contracted_frames and priced.frames:
        deliverables.follow_the_film(production)
        changes["contracted_frames"] = max(production.contracted_frames + priced.frames, 1)
    current = Production.objects.get(pk=production.pk)
    save_changes(current, current.version, changes)


def locked(order: ChangeOrder) -> ChangeOrder:
    """The order as it now stands; whoever else changes this quote's orders waits."""
    Quote.objects.select_for_update(of=("self",)).get(pk=order.quote_id)
    rows = ChangeOrder.objects.select_related("quote__production")
    return rows.select_for_update(of=("self",)).get(pk=order.pk)


def _draft(order: ChangeOrder) -> ChangeOrder:
    current = locked(order)
    if not current.is_draft:
        raise NotPossible(f"{current.name} was sent meanwhile: start another one instead.")
    return current

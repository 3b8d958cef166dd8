"""The demo studio's money: two films quoted and accepted, a change order, and their invoices."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

from clients.demo_films import DemoShot
from clients.forms.quote import Builder
from clients.models import Acceptance, Client, Invoice, Quote
from clients.queries import invoices
from clients.queries.change_orders import accepted_offer
from clients.queries.quotes import draft_of
from clients.services import change_orders, quote_drafts, quotes
from clients.services import invoices as services
from clients.services.earnings import save_account
from clients.trade.quoting.option import Option, Sequence
from shots.models import Production
from studio.models import Person, Studio

HOW_TO_PAY = "Please give the invoice’s number"


@dataclass(frozen=True)
class Desk:
    """Who keeps the books, and the day the demo stands at."""

    studio: Studio
    owner: Person
    today: date

    def ago(self, days: int) -> date:
        return self.today - timedelta(days=days)

    def at(self, day: date) -> datetime:
        return datetime.combine(day, time(10), tzinfo=self.studio.zone)


def fill_delivered(desk: Desk, film: Production, builds: int) -> None:
    """A delivered film, its last payment overdue, and what it really cost."""
    quote = _accepted(desk, film, desk.ago(150), builds)
    lock, delivery = 112, 100
    for part, (issued, paid, share) in enumerate([(148, 139, 1), (lock, 99, 1), (delivery, 60, 2)]):
        invoice = _issued(desk, quote, part, desk.ago(issued))
        owed = invoices.row_of(invoice, desk.ago(paid)).stands.outstanding
        sum_paid = (owed / share).quantize(Decimal(1)) if share > 1 else owed
        services.note_payment(invoice, sum_paid, desk.ago(paid), "by bank", desk.today)
    paid = {"Puppets and sets": Decimal(310), "Materials": Decimal("214.60"), "Glue": Decimal(45)}
    save_account(film, 0, Decimal(38), paid)


def fill_drafted(
    desk: Desk, client: Client, first_day: date, shots: list[DemoShot], builds: int
) -> None:
    """A quote in the making, with two ways of making the film; no production stands yet."""
    rate = Fraction(25)
    sequences, setups = [], set()
    for shot in shots:
        seconds = [round(Decimal(n) / 25, 3) for n in (shot.frames, shot.held, shot.reused)]
        sequences.append(
            Sequence(
                shot.description, seconds[0], 2, shot.difficulty,
                held_seconds=seconds[1], holds=shot.holds, reused_seconds=seconds[2],
                setups=int(shot.setup not in setups),
            )
        )  # fmt: skip
        setups.add(shot.setup)
    twos = Option("On twos", rate, tuple(sequences))
    ones = tuple(
        replace(one, exposure=1) if one.difficulty == "hard" else one for one in twos.sequences
    )
    quote = _drafted(desk, client, "A Paper Boat Goes to Sea", first_day, twos, builds)
    fields = {"film": "A paper boat sails a gutter, meets a wire heron and reaches the harbour."}
    options = (twos, replace(twos, label="What is hard on ones", sequences=ones))
    draft = replace(draft_of(quote), options=options)
    quote_drafts.save_draft(quote, quote.version, fields, draft, Builder(quote).entries)


def fill_running(desk: Desk, film: Production, builds: int) -> None:
    """A running film: its first part paid, a change accepted, another waiting for its answer."""
    quote = _accepted(desk, film, desk.ago(24), builds)
    first = _issued(desk, quote, 0, desk.ago(22))
    owed = invoices.row_of(first, desk.today).stands.outstanding
    services.note_payment(first, owed, desk.ago(12), "by bank", desk.today)
    longer = _changed(
        desk, quote, "The fox looks back once more", "The client asked for it on seeing the shots.",
        {"120": 24},
    )  # fmt: skip
    change_orders.accept_change_order(longer, "Noor Haddad", desk.at(desk.ago(4)), desk.ago(4))
    _changed(desk, quote, "A longer last look", "So that the end title has room.", {"140": 36})
    second = list(quote.payments.all())[1]
    services.start_part_invoice(quote, [second], [longer])


def _changed(desk: Desk, quote: Quote, title: str, reason: str, more: Mapping[str, int]):
    """A change order sent: so many frames more, by shot."""
    order = change_orders.start_change_order(quote, title, reason)
    for code, frames in more.items():
        shot = quote.production.shots.get(code=code)
        change_orders.set_length(order, shot, shot.screen_frames + frames)
    return change_orders.send_change_order(order, desk.studio, desk.at(desk.ago(5)), desk.ago(5))


def _accepted(desk: Desk, film: Production, on: date, builds: int) -> Quote:
    """The quote a film of the demo was made on, as if its acceptance had opened the film."""
    client = film.commission.client
    quote = _drafted(desk, client, film.title, film.start, _option_of(film), builds)
    sent = quotes.send_quote(quote, desk.studio, desk.at(on), on)
    Acceptance.objects.create(
        quote=sent,
        option=sent.options.get(),
        name=client.contacts.get().name,
        at=desk.at(on),
        sha256=sent.sent.sha256,
    )
    sent.status, sent.answered_at, sent.production = Quote.Status.ACCEPTED, desk.at(on), film
    sent.save()
    rows = sent.options.get().sequences.select_related("difficulty")
    quotes.keep_offered(film, accepted_offer(sent), [row.difficulty for row in rows])
    return sent


def _drafted(
    desk: Desk, client: Client, title: str, first_day: date, option: Option, builds: int
) -> Quote:
    fields = {
        "title": title,
        "first_day": first_day,
        "tax_rate": Decimal(20),
        "day_rate": Decimal(320),
    }
    quote = quote_drafts.start_quote(client, fields, option, desk.owner)
    for kind, amount in {"builds": builds, "edit": 480, "materials": 190}.items():
        quote.lines.filter(kind=kind).update(rate=amount)
    return quote


def _option_of(film: Production) -> Option:
    """The film as it was quoted: its shots of one difficulty as a run."""
    frames: dict[str, int] = {}
    for shot in film.shots.select_related("difficulty"):
        name = shot.difficulty.name
        frames[name] = frames.get(name, 0) + shot.screen_frames
    sequences = tuple(
        Sequence(
            f"Shots that are {name}",
            round(Decimal(count) * film.rate.denominator / film.rate.numerator, 3),
            film.exposure,
            name,
        )
        for name, count in frames.items()
    )
    return Option("The film", film.rate, sequences)


def _issued(desk: Desk, quote: Quote, part: int, on: date) -> Invoice:
    """The invoice of one part of the plan, issued on a day."""
    draft = services.start_part_invoice(quote, [list(quote.payments.all())[part]], [])
    words = {"how_to_pay": HOW_TO_PAY, "supplied": f"{on:%B %Y}"}
    draft = services.save_invoice(draft, draft.version, words, [])
    issued = services.issue_invoice(draft, on, desk.studio, on)
    return invoices.invoice_with_parts(issued.pk)

"""A studio with ten years of work in it, for `manage.py bench --ten-years`.

Invented rows written in bulk beside the demo studio: what matters is how many there are. Three
films run, the others are delivered. Pictures carry no thumbnail and no measure: no page reads a
measure, and a million thumbnails would measure the disk.
"""

from collections.abc import Iterable
from copy import copy
from datetime import date, datetime, time, timedelta
from itertools import islice

from django.db import models, transaction

from clients.models import (
    Client,
    Commission,
    Deliverable,
    DeliverableCheck,
    FilmAccount,
    Invoice,
    Payment,
    Quote,
)
from clients.queries.invoices import gross_as_issued
from shots.models import (
    Difficulty,
    Picture,
    Production,
    Promise,
    Session,
    SessionShot,
    Setup,
    Shot,
)
from studio.models import Studio

PRODUCTIONS = 200
SETUPS, SHOTS, SESSIONS, PICTURES = 4, 60, 100, 84  # of a production; pictures of a shot
RUNNING = 3
CLIENTS = 40
EVENINGS = 30  # of a production, on which it was promised
SHOT_SO_FAR = 45  # of the shots of a film that runs
DAYS_BETWEEN_FILMS = 18
ROWS_AT_ONCE = 5000


def running_code(number: int) -> str:
    """The code of one of the films that run, counted from 0."""
    return f"RUN{number}"


def fill_running(studio: Studio, today: date) -> None:
    """The films that run, whole, so that a page of theirs means the same at every size."""
    for number in range(RUNNING):
        _fill_film(studio, today, running_code(number), Production.Stage.RUNNING)


def fill_delivered(studio: Studio, today: date, numbers: range) -> None:
    """Delivered films by their number, the newest first; each with all that hangs on it."""
    for number in numbers:
        delivered = today - timedelta(days=30 + DAYS_BETWEEN_FILMS * number)
        _fill_film(studio, delivered, f"OLD{number}", Production.Stage.DELIVERED)


@transaction.atomic
def _fill_film(studio: Studio, last_day: date, code: str, stage: str) -> None:
    film = Production.objects.create(
        code=code, title=f"The Film of {code}", stage=stage, contracted_frames=SHOTS * 48,
        start=last_day - timedelta(days=SESSIONS), deadline=last_day + timedelta(days=40),
    )  # fmt: skip
    shots = _fill_shots(film, running=stage == Production.Stage.RUNNING)
    sessions = _fill_sessions(studio, film, shots, last_day)
    _write(_pictures(shots, sessions))
    _write(_promises(film, last_day))
    _fill_desk(studio, film, last_day)


def _fill_shots(film: Production, running: bool) -> list[Shot]:
    setups = Setup.objects.bulk_create(
        Setup(production=film, code=f"S{n}", name="Kitchen, wide", position=n)
        for n in range(SETUPS)
    )
    difficulties = list(Difficulty.objects.all())
    shot_so_far = SHOT_SO_FAR if running else SHOTS
    return Shot.objects.bulk_create(
        Shot(
            production=film, setup=setups[n % SETUPS], code=f"{n:03}", position=n,
            description="Fox leaps out of bed, blanket flies", screen_frames=48,
            difficulty=difficulties[n % len(difficulties)], agreed_pictures=24,
            status=Shot.Status.SHOT if n < shot_so_far else Shot.Status.TO_SHOOT,
        )
        for n in range(SHOTS)
    )  # fmt: skip


def _fill_sessions(studio: Studio, film: Production, shots: list[Shot], last_day: date):
    sessions = Session.objects.bulk_create(
        _session(studio, film, last_day - timedelta(days=n + 1)) for n in range(SESSIONS)
    )
    shot_so_far = [shot for shot in shots if shot.status == Shot.Status.SHOT]
    SessionShot.objects.bulk_create(
        SessionShot(
            session=session, shot=shot_so_far[n % len(shot_so_far)], kept=12 + n % 3, discarded=2
        )
        for n, session in enumerate(sessions)
    )
    return sessions


def _session(studio: Studio, film: Production, day: date) -> Session:
    began = datetime.combine(day, time(9), tzinfo=studio.zone)
    return Session(
        production=film, day=day, started_at=began, ended_at=began + timedelta(hours=6),
        setup_minutes=20, break_minutes=45,
    )  # fmt: skip


def _pictures(shots: list[Shot], sessions: list[Session]) -> Iterable[Picture]:
    for place, shot in enumerate(shots):
        session = sessions[place % len(sessions)]
        for n in range(PICTURES):
            yield Picture(
                shot=shot, session=session, sha256=f"{shot.pk:032x}{n:032x}",
                name=f"DSC{n:04}.jpg", place=f"{session.day} dsc{n:012}", day=session.day,
                width=1920, height=1080, brightness=0.2, measure=b"", judged_at=session.ended_at,
            )  # fmt: skip


def _promises(film: Production, last_day: date) -> Iterable[Promise]:
    for n in range(EVENINGS):
        evening = last_day - timedelta(days=3 * n + 1)
        yield Promise(
            production=film, evening=evening, even=last_day, likely=last_day + timedelta(days=7),
            days=[n + place // 10 for place in range(99)], deadline=film.deadline, chance=0.8,
            budget=SHOTS * 24, kept=12 * (SESSIONS - n),
        )  # fmt: skip


def _fill_desk(studio: Studio, film: Production, last_day: date) -> None:
    """The client's side of a film: commission, a quote in draft, two deliverables with checks."""
    client, _ = Client.objects.get_or_create(
        name=f"Client {film.pk % CLIENTS}", defaults={"currency": studio.currency}
    )
    Commission.objects.create(production=film, client=client)
    Quote.objects.create(client=client, title=film.title, currency=studio.currency)
    _fill_money(film, client, last_day)
    deliverables = Deliverable.objects.bulk_create(
        Deliverable(production=film, name=name) for name in ("HD web master", "Square cut")
    )
    DeliverableCheck.objects.bulk_create(
        DeliverableCheck(deliverable=deliverable, text=text, position=place)
        for deliverable in deliverables
        for place, text in enumerate(["Titles spelled as approved", "Sound in step", "Opened"])
    )


def _fill_money(film: Production, client: Client, last_day: date) -> None:
    """The quote, the invoices and the payments of the demo's delivered film, once more."""
    model = Quote.objects.get(production__code="CLAY")
    film_account = FilmAccount.objects.get(production=model.production)
    account = _again(film_account, production=film)
    for cost in film_account.costs.all():
        _again(cost, account=account)
    quote = _again(
        model, title=film.title, client=client, production=film, year=last_day.year, number=film.pk
    )
    option = _again(model.options.get(), quote=quote)
    for sequence in model.options.get().sequences.all():
        _again(sequence, option=option)
    for line in model.lines.all():
        _again(line, quote=quote)
    payments = {payment.pk: _again(payment, quote=quote) for payment in model.payments.all()}
    _again(model.sent, quote=quote)
    _again(model.acceptance, quote=quote, option=option)
    for place, invoice in enumerate(Invoice.objects.filter(production=model.production)):
        _fill_invoice(invoice, film, client, payments, last_day - timedelta(days=30 * place))


def _fill_invoice(
    model: Invoice, film: Production, client: Client, payments: dict, day: date
) -> None:
    """One invoice once more, issued on a day and paid in full three weeks later."""
    invoice = _again(
        model, client=client, production=film, title=film.title, year=day.year,
        number=10 * film.pk + model.number, issued_on=day, due_on=day + timedelta(days=30),
    )  # fmt: skip
    for part in model.parts.all():
        _again(part, invoice=invoice, payment=payments[part.payment_id])
    issued = _again(model.issued, invoice=invoice)
    Payment.objects.create(
        invoice=invoice, amount=gross_as_issued(issued), paid_on=day + timedelta(days=21)
    )


def _again(row: models.Model, **changes) -> models.Model:
    """A copy of a row, as a row of its own."""
    copied = copy(row)
    copied.pk, copied._state.adding = None, True
    for name, value in changes.items():
        setattr(copied, name, value)
    copied.save()
    return copied


def _write(rows: Iterable[models.Model]) -> None:
    """Write any number of rows, some thousands at a time."""
    rows = iter(rows)
    while batch := list(islice(rows, ROWS_AT_ONCE)):
        type(batch[0])._default_manager.bulk_create(batch)

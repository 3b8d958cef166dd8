"""An invented studio to look around in: one film half shot, one at quote, one delivered.

Everything here is made up. Dates hang on the day it is filled, so the running film is always in
the middle of its shoot.
"""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from clients.demo_delivery import deliver
from clients.demo_films import (
    BOAT_SHOTS,
    FOX_DAYS,
    FOX_SETUPS,
    FOX_SHOTS,
    ORCHESTRA_DAYS,
    ORCHESTRA_SHOTS,
    DemoDay,
    DemoShot,
)
from clients.demo_money import Desk, fill_delivered, fill_drafted, fill_running
from clients.models import (
    Client,
    Commission,
    Contact,
    Deliverable,
    StudioSpecification,
)
from clients.services.deliverables import add_deliverable
from clients.trade.delivery import FIRST_CHECKS
from shots.models import (
    CallSheet,
    CallSheetPerson,
    CallSheetShot,
    Difficulty,
    Incident,
    Lamp,
    PreShootCheck,
    Production,
    Session,
    SessionCheck,
    SessionShot,
    Setup,
    Shot,
)
from shots.queries.days_left import SEED, DaysLeft
from shots.queries.history import histories
from shots.services.promises import promise_of
from shots.trade.forecast import forecast
from studio.models import Person, Studio
from studio.services import add_person, open_studio

OWNER_SIGN_IN, OWNER_PASSWORD = "ida", "felt and wire at dawn"
CREW_SIGN_IN, CREW_PASSWORD = "teo", "clay dries overnight"
ZONE = "Europe/Warsaw"


def today_there(now: datetime) -> date:
    """The calendar day it is at `now` where the demo studio stands, before it is filled."""
    return now.astimezone(ZoneInfo(ZONE)).date()


@transaction.atomic
def fill(today: date) -> Studio:
    """Fill an empty installation with the demo studio; `today` is the day its shoot stands at."""
    studio, ida = open_studio(
        {
            "name": "Lamplight Table",
            "currency": "EUR",
            "paper": "A4",
            "working_weekdays": [0, 1, 2, 3, 4],
            "hours_per_day": 7,
            "timezone": ZONE,
            "country": "PL",
            "address": "Backyard workshop, 3 Mill Lane",
            "phone": "+48 00 000 00 01",
            "tax_number": "PL 000 000 00 00",
            "payment_account": "Account 000 111 222 at the Harbour Savings Bank",
        },
        {"name": "Ida Morrow", "sign_in_name": OWNER_SIGN_IN, "password": OWNER_PASSWORD},
    )
    teo = add_person(
        {
            "name": "Teo Lind",
            "sign_in_name": CREW_SIGN_IN,
            "job": "Sets and rigging",
            "phone": "+48 00 000 00 02",
        },
        CREW_PASSWORD,
    )
    scene = _Scene(studio, today, [ida, teo])
    tea, museum, festival = _clients()
    desk = Desk(studio, ida, today)
    _delivered(scene, desk, museum)
    _at_quote(scene, desk, festival)
    _running(scene, desk, tea)
    for film in Production.objects.all():
        _promise_each_evening(scene, film)
    return studio


@dataclass(frozen=True)
class _Scene:
    studio: Studio
    today: date
    people: list[Person]

    def working_day(self, offset: int) -> date:
        """The working day `offset` before today; negative is ahead."""
        day, left, step = self.today, abs(offset), timedelta(days=-1 if offset > 0 else 1)
        while left:
            day += step
            left -= day.weekday() < 5
        return day

    def at(self, day: date, hour: float) -> datetime:
        midnight = datetime.combine(day, time(0), tzinfo=self.studio.zone)
        return midnight + timedelta(hours=hour)


def _clients() -> list[Client]:
    rows = []
    for name, address, contact, email, days in [
        ("Ωmega Tea Rooms", "2 Kettle Street", "Noor Haddad", "noor@omega-tea.example", 30),
        ("Museum of Small Sounds", "9 Bell Yard", "Łucja Żak", "lucja@smallsounds.example", 14),
        ("Rivermouth Paper Festival", "The Quay", "Emre Işık", "emre@rivermouth.example", 30),
    ]:
        client = Client.objects.create(
            name=name, address=address, currency="EUR", payment_days=days
        )
        Contact.objects.create(client=client, name=contact, email=email)
        rows.append(client)
    return rows


def _film(scene: _Scene, client: Client, setups: list, shots: list[DemoShot], **fields):
    film = Production.objects.create(
        place="Backyard workshop, 3 Mill Lane, through the green gate",
        directions="Tram 4 to Mill Lane, then two minutes on foot. No parking in the yard.",
        emergency_care="Walk-in clinic, 12 Orchard Street, +48 00 000 09 99. Emergencies: 112",
        **fields,
    )
    Commission.objects.create(production=film, client=client)
    places = {}
    for position, (code, name, focal, aperture, shutter, lamps) in enumerate(setups):
        places[code] = Setup.objects.create(
            production=film, code=code, name=name, position=position, camera="Mirrorless",
            focal_length_mm=focal, aperture=aperture, shutter=shutter, iso=100,
            white_balance_k=3200, focus_distance="Tape mark on the ring",
        )  # fmt: skip
        Lamp.objects.bulk_create(
            Lamp(setup=places[code], name=lamp, watts=watts, position=n)
            for n, (lamp, watts) in enumerate(lamps)
        )
    difficulties = {row.name: row for row in Difficulty.objects.all()}
    for position, shot in enumerate(shots):
        row = Shot(
            production=film, setup=places[shot.setup], code=shot.code, position=position,
            description=shot.description, difficulty=difficulties[shot.difficulty],
            screen_frames=shot.frames, exposure=film.exposure, held_frames=shot.held,
            holds=shot.holds, reused_frames=shot.reused,
        )  # fmt: skip
        row.agreed_pictures = row.budget
        row.save()
    return film


def _shoot(scene: _Scene, film: Production, days: list[DemoDay]) -> None:
    shots = {shot.code: shot for shot in film.shots.select_related("setup")}
    checks = list(PreShootCheck.objects.all())
    ida = scene.people[0]
    for day in days:
        on = scene.working_day(day.days_ago)
        start = scene.at(on, 9)
        session = Session.objects.create(
            production=film, day=on, started_at=start, setup=shots[next(iter(day.output))].setup,
            ended_at=start + timedelta(hours=day.hours, minutes=45), break_minutes=45,
            setup_minutes=day.setup_minutes,
        )  # fmt: skip
        session.people.set(scene.people[: 1 + day.days_ago % 2])
        SessionCheck.objects.bulk_create(
            SessionCheck(
                session=session, text=check.text, ticked_at=start, ticked_by=scene.people[0]
            )
            for check in checks
        )
        for code, (kept, discarded) in day.output.items():
            SessionShot.objects.create(
                session=session, shot=shots[code], kept=kept, discarded=discarded
            )
        if day.incident:
            kind, note = day.incident
            Incident.objects.create(
                session=session, kind=kind, note=note, at=start + timedelta(hours=2),
                shot=shots[next(iter(day.output))], by=ida,
            )  # fmt: skip
    for shot in film.shots.with_counts():
        if shot.kept:
            done = shot.kept >= shot.budget
            shot.status = Shot.Status.SHOT if done else Shot.Status.SHOOTING
            shot.save(update_fields=["status"])


def _running(scene: _Scene, desk: Desk, client: Client) -> None:
    film = _film(
        scene, client, FOX_SETUPS, FOX_SHOTS,
        code="FOX", title="The Felt Fox Misses the Bus", rate_numerator=24, exposure=2,
        contracted_frames=35 * 24, start=scene.working_day(10), deadline=scene.working_day(-11),
    )  # fmt: skip
    fill_running(desk, film, builds=1400)
    _shoot(scene, film, FOX_DAYS)
    for name, width, height in [("HD web master", 1920, 1080), ("Square cut", 1080, 1080)]:
        _deliverable(film, name, width, height)
    _call_sheet(scene, film)


def _call_sheet(scene: _Scene, film: Production) -> None:
    day = scene.today if scene.today.weekday() < 5 else scene.working_day(-1)
    sheet = CallSheet.objects.create(production=film, day=day, call=time(9), wrap=time(17))
    for position, code in enumerate(["080", "090"]):
        shot = film.shots.get(code=code)
        CallSheetShot.objects.create(call_sheet=sheet, shot=shot, position=position, pictures=11)
    for person, call in zip(scene.people, [time(9), time(8, 30)], strict=True):
        CallSheetPerson.objects.create(call_sheet=sheet, person=person, call=call)


def _at_quote(scene: _Scene, desk: Desk, client: Client) -> None:
    """A film that is only a draft of a quote: accepting it opens its production."""
    fill_drafted(desk, client, scene.working_day(-25), BOAT_SHOTS, builds=820)


def _delivered(scene: _Scene, desk: Desk, client: Client) -> None:
    lamps = [("Key", 500), ("Fill", 150)]
    film = _film(
        scene, client,
        [("H1", "Concert hall, wide", "35.0", "8.0", "1/4", lamps),
         ("H2", "Brass, close", "85.0", "5.6", "1/2", lamps)],
        ORCHESTRA_SHOTS,
        code="CLAY", title="The Clay Orchestra", rate_numerator=24, exposure=2,
        contracted_frames=sum(shot.frames for shot in ORCHESTRA_SHOTS),
        stage=Production.Stage.DELIVERED,
        start=scene.working_day(90), deadline=scene.working_day(80),
    )  # fmt: skip
    fill_delivered(desk, film, builds=900)
    _shoot(scene, film, ORCHESTRA_DAYS)
    film.shots.update(status=Shot.Status.APPROVED)
    checked, signed = scene.at(scene.working_day(79), 15), scene.at(scene.working_day(78), 11)
    deliver(film, scene.people[0], checked, signed)


def _deliverable(film: Production, name: str, width: int, height: int) -> Deliverable:
    fields = {
        "name": name,
        "purpose": "For the client’s own pages",
        "width": width,
        "height": height,
        "rate_numerator": film.rate_numerator,
        "rate_denominator": film.rate_denominator,
        "specification": StudioSpecification.objects.get(title__startswith=name),
        "captions": "WebVTT, English",
        "file_name": "{production}_{deliverable}_v{version}.mp4",
    }
    return add_deliverable(film, fields, FIRST_CHECKS)


def _promise_each_evening(scene: _Scene, film: Production) -> None:
    """What the forecast would have said after each session, as if the page had been open."""
    whole = histories([film], scene.studio, scene.today)[film.pk]
    for evening in sorted({session.date for session in whole.sessions}):
        sessions = tuple(one for one in whole.sessions if one.date <= evening)
        kept = Counter()
        for session in sessions:
            kept.update({row.shot: row.kept for row in session.output})
        shots = tuple(
            replace(
                shot,
                pictures_kept=kept[shot.code],
                done=kept[shot.code] >= shot.pictures_budgeted,
            )
            for shot in whole.shots
        )
        then = replace(whole, shots=shots, sessions=sessions, as_of=evening, past_productions=())
        promise_of(film.pk, DaysLeft(then, forecast(then, seed=SEED))).save()

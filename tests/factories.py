"""The smallest valid rows, with fixed values; traits name states. No random data."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import factory
from factory.django import DjangoModelFactory

from clients import models as desk
from shots import models as floor
from studio.models import Person, Studio

PASSWORD = "felt and wire at dawn"


def studio_today() -> date:
    """Today where the studio is; another day than UTC's for an hour or two every night."""
    return datetime.now(ZoneInfo("Europe/Warsaw")).date()


class StudioFactory(DjangoModelFactory):
    class Meta:
        model = Studio

    name = "Lamplight Table"
    currency = "EUR"
    working_weekdays = [0, 1, 2, 3, 4]
    hours_per_day = 7
    timezone = "Europe/Warsaw"


class PersonFactory(DjangoModelFactory):
    class Meta:
        model = Person
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Helper {n}")
    sign_in_name = factory.Sequence(lambda n: f"helper{n}")
    role = "crew"

    @factory.post_generation
    def password(self, create, extracted, **kwargs):
        self.set_password(extracted or PASSWORD)
        if create:
            self.save()


class DifficultyFactory(DjangoModelFactory):
    class Meta:
        model = floor.Difficulty
        django_get_or_create = ("name",)

    name = "medium"
    pictures_per_hour = 12


class ProductionFactory(DjangoModelFactory):
    class Meta:
        model = floor.Production

    code = factory.Sequence(lambda n: f"FILM{n}")
    title = "The Felt Fox"
    rate_numerator = 24
    exposure = 2
    contracted_frames = 720
    start = date(2026, 3, 2)
    deadline = date(2026, 4, 30)


class SetupFactory(DjangoModelFactory):
    class Meta:
        model = floor.Setup

    production = factory.SubFactory(ProductionFactory)
    code = factory.Sequence(lambda n: f"S{n:02}")
    name = "Kitchen, wide"


class ShotFactory(DjangoModelFactory):
    class Meta:
        model = floor.Shot

    production = factory.SubFactory(ProductionFactory)
    code = factory.Sequence(lambda n: f"A{n:03}")
    position = factory.Sequence(lambda n: n)
    difficulty = factory.SubFactory(DifficultyFactory)
    screen_frames = 48
    exposure = 2


class SessionFactory(DjangoModelFactory):
    """A finished session of four hours on the first shooting day."""

    class Meta:
        model = floor.Session

    production = factory.SubFactory(ProductionFactory)
    day = date(2026, 3, 2)
    started_at = datetime(2026, 3, 2, 8, tzinfo=UTC)
    ended_at = datetime(2026, 3, 2, 12, tzinfo=UTC)

    class Params:
        running = factory.Trait(ended_at=None)


class SessionShotFactory(DjangoModelFactory):
    class Meta:
        model = floor.SessionShot

    session = factory.SubFactory(SessionFactory)
    shot = factory.SubFactory(ShotFactory)
    kept = 10


class PictureFactory(DjangoModelFactory):
    """A picture without its files and measure."""

    class Meta:
        model = floor.Picture

    shot = factory.SubFactory(ShotFactory)
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    name = factory.Sequence(lambda n: f"P{n:04}.jpg")
    place = factory.LazyAttribute(lambda picture: f"2026-03-02 {picture.name}")
    day = date(2026, 3, 2)
    width = 4000
    height = 3000
    brightness = 0.3
    measure = b""


class CallSheetFactory(DjangoModelFactory):
    class Meta:
        model = floor.CallSheet

    production = factory.SubFactory(ProductionFactory)
    day = date(2026, 3, 3)
    call = time(9)
    wrap = time(17)


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = desk.Client

    name = factory.Sequence(lambda n: f"Ωmega Tea Rooms {n}")
    currency = "EUR"


class DeliverableFactory(DjangoModelFactory):
    class Meta:
        model = desk.Deliverable

    production = factory.SubFactory(ProductionFactory)
    name = "HD web master"


class ContactFactory(DjangoModelFactory):
    class Meta:
        model = desk.Contact

    client = factory.SubFactory(ClientFactory)
    name = "Noor Haddad"


class CommissionFactory(DjangoModelFactory):
    class Meta:
        model = desk.Commission

    production = factory.SubFactory(ProductionFactory)
    client = factory.SubFactory(ClientFactory)


class DeliverableCheckFactory(DjangoModelFactory):
    class Meta:
        model = desk.DeliverableCheck

    deliverable = factory.SubFactory(DeliverableFactory)
    text = "Titles spelled as approved"

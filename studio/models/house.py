"""The studio itself: its profile, its people and the days it does not work."""

import zoneinfo
from datetime import date, datetime

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone


class Kept(models.Model):
    """A row nobody may lose: it has a version, and is archived, not deleted."""

    version = models.PositiveIntegerField(default=1, editable=False)
    archived_at = models.DateTimeField(null=True, blank=True, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True


class KeptQuerySet(models.QuerySet):
    """Rows that may be archived."""

    def current(self) -> "KeptQuerySet":
        """What is not archived."""
        return self.filter(archived_at__isnull=True)


def _timezones() -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in sorted(zoneinfo.available_timezones())]


class Studio(models.Model):
    """The one studio this installation belongs to. There is never more than one row."""

    class Paper(models.TextChoices):
        A4 = "A4", "A4 (210 × 297 mm)"
        LETTER = "Letter", "Letter (8.5 × 11 in)"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField("studio's name", max_length=120)
    currency = models.CharField(max_length=3, default="EUR", help_text="Three letters, as EUR.")
    paper = models.CharField("paper size", max_length=6, choices=Paper.choices, default=Paper.A4)
    working_weekdays = models.JSONField(
        "working week", default=list, help_text="The weekdays you usually shoot on."
    )
    hours_per_day = models.DecimalField(
        "day length",
        max_digits=4,
        decimal_places=2,
        default=7,
        validators=[MinValueValidator(0.5), MaxValueValidator(24)],
        help_text="Hours of shooting in an ordinary day, breaks left out.",
    )
    timezone = models.CharField("time zone", max_length=60, default="UTC", choices=_timezones)
    country = models.CharField(
        max_length=2, blank=True, help_text="Two letters, as PL: its public holidays are days off."
    )
    region = models.CharField(
        max_length=10, blank=True, help_text="The region's code, where holidays differ by region."
    )
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    tax_number = models.CharField(
        max_length=60, blank=True,
        help_text="As your tax law wants it named. It prints on quotes, invoices, credit notes.",
    )  # fmt: skip
    payment_account = models.TextField(
        "account to pay into", max_length=400, blank=True,
        help_text="One thing a line: the account’s holder and number, the bank. It prints on "
        "every invoice.",
    )  # fmt: skip
    odds_threshold = models.PositiveSmallIntegerField(
        "warn under",
        default=80,
        validators=[MinValueValidator(1), MaxValueValidator(99)],
        help_text="Chance of the deadline, in per cent, under which Today warns you.",
    )
    circuit_volts = models.PositiveSmallIntegerField(
        "circuit voltage", default=230, validators=[MinValueValidator(1), MaxValueValidator(480)]
    )
    circuit_amps = models.PositiveSmallIntegerField(
        "circuit breaker", default=16, validators=[MinValueValidator(1), MaxValueValidator(125)],
        help_text="Amperes of the circuit the lamps hang on. Read it off the breaker.",
    )  # fmt: skip
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="studio_is_one"),
            models.CheckConstraint(
                condition=Q(hours_per_day__gt=0, hours_per_day__lte=24), name="studio_day_fits"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.timezone)

    def today(self, now: datetime) -> date:
        """The calendar day it is in the studio at `now`."""
        return now.astimezone(self.zone).date()


class PersonManager(BaseUserManager):
    """Makes people, with or without a sign-in."""

    def create_person(self, name: str, sign_in_name: str, password: str, **fields) -> "Person":
        person = self.model(name=name, sign_in_name=sign_in_name, **fields)
        person.set_password(password)
        person.save()
        return person

    def get_by_natural_key(self, sign_in_name: str) -> "Person":
        return self.get(sign_in_name__iexact=sign_in_name)


class Person(AbstractBaseUser):
    """Somebody who works here. Without a sign-in name they only stand on call sheets."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner: everything"
        CREW = "crew", "Crew: the floor, never money"

    name = models.CharField(max_length=120)
    sign_in_name = models.CharField(
        max_length=80, unique=True, null=True, blank=True,
        help_text="Leave empty for somebody who only stands on call sheets.",
    )  # fmt: skip
    role = models.CharField(max_length=5, choices=Role.choices, default=Role.CREW)
    job = models.CharField(max_length=80, blank=True, help_text="As it prints on the call sheet.")
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    is_active = models.BooleanField("works here", default=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    USERNAME_FIELD = "sign_in_name"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]
    objects = PersonManager()

    class Meta:
        verbose_name_plural = "people"
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=["owner", "crew"]), name="person_role_known"
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_owner(self) -> bool:
        return self.role == self.Role.OWNER


class DayOff(models.Model):
    """A stretch of days on which the studio does not shoot."""

    first = models.DateField("first day")
    last = models.DateField("last day")
    label = models.CharField("what for", max_length=80, blank=True)

    class Meta:
        verbose_name_plural = "days off"
        ordering = ["first"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last__gte=F("first")), name="day_off_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return f"{self.label or 'Day off'}, {self.first} to {self.last}"


def changed_by_field() -> models.ForeignKey:
    """Who did it; the row outlives the person."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

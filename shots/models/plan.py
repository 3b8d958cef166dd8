"""What the plan must respect, what was done to it, what was issued from it, and beats."""

from calendar import day_name
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from shots.models.call_sheet import CallSheet
from shots.models.production import Production
from shots.models.shot import Shot
from studio.models import changed_by_field


class Wish(models.Model):
    """What the plan must respect of one shot. A shot without a row has no wishes."""

    shot = models.OneToOneField(Shot, on_delete=models.CASCADE, related_name="wish")
    pinned = models.DateField(
        "pinned to", null=True, blank=True, help_text="The day this shot starts."
    )
    earliest = models.DateField(
        "not before", null=True, blank=True, help_text="As the first day of a stage hire."
    )
    latest = models.DateField(
        "finished by", null=True, blank=True, help_text="As the last day of a guest animator."
    )
    priority = models.PositiveSmallIntegerField(
        default=0,
        help_text="0 is no hurry; a higher number goes first where that costs no set-up change.",
    )
    after = models.ManyToManyField(
        Shot,
        blank=True,
        related_name="+",
        verbose_name="comes after",
        help_text="Shots to finish first, as before a set is destroyed.",
    )
    people = models.ManyToManyField(
        settings.AUTH_USER_MODEL,
        blank=True,
        related_name="+",
        verbose_name="cannot do without",
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(earliest=None) | Q(latest=None) | Q(latest__gte=F("earliest")),
                name="wish_dates_in_order",
            )
        ]

    def __str__(self) -> str:
        return f"Wishes of {self.shot}"


class Absence(models.Model):
    """Days somebody is away, or there for `hours` only: a stretch, or some weekdays of it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="absences"
    )
    first = models.DateField("from")
    last = models.DateField(
        "until", null=True, blank=True, help_text="Empty: until further notice."
    )
    weekdays = models.JSONField(
        default=list, blank=True, help_text="Only these weekdays, for part-time; none: every day."
    )
    hours = models.DecimalField(
        "hours there", max_digits=4, decimal_places=2, null=True, blank=True,
        help_text="Of a half or short day, counted from its start. Empty: away all day.",
    )  # fmt: skip
    label = models.CharField("what for", max_length=80, blank=True)

    class Meta:
        ordering = ["first", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last=None) | Q(last__gte=F("first")), name="absence_ends_after_start"
            ),
            models.CheckConstraint(
                condition=Q(hours=None) | Q(hours__gt=0, hours__lt=24), name="absence_hours_fit"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, from {self.first}"

    @property
    def weekday_names(self) -> list[str]:
        return [day_name[weekday] for weekday in self.weekdays]

    @property
    def hours_words(self) -> str:
        return f"{self.hours.normalize():f} h"

    def days(self, first: date, last: date) -> Iterator[date]:
        """The days of it from `first` to `last`, both included."""
        begins, ends = max(self.first, first), min(self.last or last, last)
        for n in range((ends - begins).days + 1):
            day = begins + timedelta(days=n)
            if not self.weekdays or day.weekday() in self.weekdays:
                yield day


class PlanStep(models.Model):
    """One change to the plan by hand: what stood before it, to compare and to undo.

    `wishes` holds the wishes of the shots it touched by primary key (None: no wishes), `days`
    the first and last day of every planned shot by code, both as they were before.
    """

    production = models.ForeignKey(Production, on_delete=models.CASCADE, related_name="plan_steps")
    at = models.DateTimeField()
    by = changed_by_field()
    act = models.CharField(max_length=300)
    wishes = models.JSONField()
    days = models.JSONField()
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.act


class CallSheetIssue(models.Model):
    """A call sheet as it was handed out: its paper and its contents never change again."""

    call_sheet = models.ForeignKey(CallSheet, on_delete=models.CASCADE, related_name="issues")
    number = models.PositiveIntegerField(help_text="Counts the production's call sheets.")
    revision = models.PositiveIntegerField(default=1, help_text="1 is A, 2 is B.")
    issued_at = models.DateTimeField()
    issued_by = changed_by_field()
    changes = models.JSONField(help_text="What changed since the revision before, in sentences.")
    contents = models.JSONField(help_text="What it says, to tell what the next one changes.")
    # Bytes beside their row: one backup holds both, and no file can go missing.
    pdf = models.BinaryField()

    class Meta:
        ordering = ["-revision"]
        constraints = [
            models.UniqueConstraint(
                fields=["call_sheet", "revision"], name="revision_once_a_call_sheet"
            )
        ]

    def __str__(self) -> str:
        return f"Call sheet {self.number}{self.letter}"

    @property
    def letter(self) -> str:
        """The revision as a letter: A to Z, then AA."""
        letters, left = "", self.revision
        while left:
            left, place = divmod(left - 1, 26)
            letters = chr(ord("A") + place) + letters
        return letters


CALENDAR_LINK_LASTS = timedelta(days=365)


class CalendarLink(models.Model):
    """A private address of a production's calendar. Only the digest of its secret is kept."""

    production = models.ForeignKey(
        Production, on_delete=models.CASCADE, related_name="calendar_links"
    )
    label = models.CharField("for whom", max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField()
    made_by = changed_by_field()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return self.label

    @property
    def expires_at(self) -> datetime:
        """From when on it answers nobody: a link that was forgotten does not stay open for ever."""
        return self.made_at + CALENDAR_LINK_LASTS


class Beats(models.Model):
    """The beats of a shot as its animator wrote them, one a line."""

    shot = models.OneToOneField(Shot, on_delete=models.CASCADE, related_name="beats")
    text = models.TextField("beats", blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        verbose_name_plural = "beats"

    def __str__(self) -> str:
        return f"Beats of {self.shot}"

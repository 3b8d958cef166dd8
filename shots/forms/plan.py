"""Forms of the plan: moving by hand, wishes of a shot, absences."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django import forms

from shots.models import Absence, CalendarLink, Shot, Wish
from studio.forms import WEEKDAYS, DateInput, VersionedModelForm
from studio.models import Person, Studio

MOST_PRIORITY = 99


@dataclass(frozen=True)
class Move:
    """What is moved: a shot or a set-up by primary key (None: no set-up), and the day."""

    kind: str
    pk: int | None
    day: date | None


class MoveField(forms.CharField):
    """What was dragged, or which button was pressed: "shot:12:2026-03-04", "shot:12:" to unpin."""

    def to_python(self, value) -> Move | None:
        text = super().to_python(value)
        if text in self.empty_values:
            return None
        try:
            kind, pk, day = text.split(":")
            if kind not in ("shot", "setup") or (kind == "shot" and not pk):
                raise ValueError
            return Move(kind, int(pk) if pk else None, date.fromisoformat(day) if day else None)
        except ValueError as error:
            raise forms.ValidationError(
                f"“{text[:40]}” says neither what is moved nor where to; use the buttons."
            ) from error


class MoveForm(forms.Form):
    """A drop or a button."""

    to = MoveField()


class WishForm(VersionedModelForm):
    """What the plan must respect of one shot."""

    whole_setup = forms.BooleanField(
        label="The same dates, priority and people for its whole set-up", required=False
    )

    class Meta:
        model = Wish
        fields = ["pinned", "earliest", "latest", "priority", "after", "people"]
        widgets = {
            "pinned": DateInput(),
            "earliest": DateInput(),
            "latest": DateInput(),
            "after": forms.CheckboxSelectMultiple,
            "people": forms.CheckboxSelectMultiple,
        }

    def __init__(self, *args, shot: Shot, **kwargs):
        super().__init__(*args, **kwargs)
        self.shot = shot
        others = Shot.objects.left_to_shoot().filter(production=shot.production_id)
        chosen = Shot.objects.filter(production=shot.production_id, pk__in=self.chosen("after"))
        self.fields["after"].queryset = (others | chosen).exclude(pk=shot.pk)
        self.fields["people"].queryset = Person.objects.filter(is_active=True)
        self.fields["priority"].max_value = MOST_PRIORITY
        self.fields["priority"].required = False

    def chosen(self, name: str) -> list[int]:
        """Primary keys that stand in a list of the wish now."""
        if not self.instance.pk:
            return []
        return list(getattr(self.instance, name).values_list("pk", flat=True))

    def clean_priority(self) -> int:
        priority = self.cleaned_data["priority"] or 0
        if priority > MOST_PRIORITY:
            raise forms.ValidationError(f"A priority goes from 0 to {MOST_PRIORITY}.")
        return priority

    def clean(self) -> dict:
        cleaned = super().clean()
        earliest, latest = cleaned.get("earliest"), cleaned.get("latest")
        if earliest and latest and earliest > latest:
            self.add_error("latest", "This is before “not before”. Swap them, or clear one.")
        return cleaned

    def validate_constraints(self) -> None:
        """The dates were compared above, in words."""

    def of(self, current: Wish) -> "WishForm":
        return WishForm(instance=current, shot=self.shot)


class AbsenceForm(forms.ModelForm):
    """When somebody is not there, or not all day."""

    weekdays = forms.TypedMultipleChoiceField(
        label="Only on",
        choices=WEEKDAYS,
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: every day.",
    )

    class Meta:
        model = Absence
        fields = ["person", "first", "last", "weekdays", "hours", "label"]
        widgets = {"first": DateInput(), "last": DateInput()}

    def __init__(self, *args, studio: Studio, **kwargs):
        super().__init__(*args, **kwargs)
        self.whole_day = studio.hours_per_day
        self.fields["person"].queryset = Person.objects.filter(is_active=True)
        self.fields["hours"].help_text = (
            "For a half or short day, counted from its start: half of an ordinary day is "
            f"{float(self.whole_day) / 2:g}. Empty: away all day."
        )

    def clean_hours(self) -> Decimal | None:
        hours = self.cleaned_data["hours"]
        if hours is not None and not 0 < hours < self.whole_day:
            raise forms.ValidationError(
                f"A short day has more than 0 and fewer than {float(self.whole_day):g} hours, got "
                f"{hours}. Leave it empty for somebody who is away all day."
            )
        return hours

    def clean(self) -> dict:
        cleaned = super().clean()
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day is before the first. Swap them, or correct one.")
        return cleaned

    def validate_constraints(self) -> None:
        """Dates and hours were looked at above, in words."""


class LinkForm(forms.ModelForm):
    """Whom a calendar link is for, so that the right one is revoked."""

    class Meta:
        model = CalendarLink
        fields = ["label"]

"""The form of a call sheet: the day, who is called when, and what is shot in which order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, time, timedelta

from django import forms

from shots.models import CallSheet, Shot
from shots.queries.call_sheet_proposal import calls_of, pictures_of
from shots.trade.call import Hours
from studio.forms import DateInput, VersionedModelForm
from studio.models import Person

EARLIEST, LATEST = timedelta(days=31), timedelta(days=366)
MOST_PICTURES = 5000  # one shot in one day; more is a slip of the finger


class TimeInput(forms.TimeInput):
    """The browser's own clock."""

    input_type = "time"

    def __init__(self, **kwargs):
        super().__init__(format="%H:%M", **kwargs)


class DayForm(forms.Form):
    """Which day a new call sheet is for."""

    day = forms.DateField(widget=DateInput())


@dataclass(frozen=True)
class Choices:
    """What a call sheet may hold, and what it holds now: call by person, pictures by shot."""

    shots: Sequence[Shot]
    people: Sequence[Person]
    pictures: Mapping[int, int]
    calls: Mapping[int, time]


@dataclass(frozen=True)
class ShotRow:
    """A shot that may be chosen, with its two fields."""

    shot: Shot
    pictures: forms.BoundField
    order: forms.BoundField


class CallSheetForm(VersionedModelForm):
    """A call sheet. A shot without pictures, and a person without a time, are not on it."""

    class Meta:
        model = CallSheet
        fields = ["day", "call", "wrap", "notes"]
        widgets = {
            "day": DateInput(),
            "call": TimeInput(),
            "wrap": TimeInput(),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, choices: Choices, today: date, **kwargs):
        super().__init__(*args, **kwargs)
        self.choices, self.today = choices, today
        self.day_before = self.instance.day if self.instance.pk else None
        for person in choices.people:
            self.fields[f"call_{person.pk}"] = forms.TimeField(
                label=person.name, required=False, widget=TimeInput(),
                initial=choices.calls.get(person.pk), help_text=person.job,
            )  # fmt: skip
        order = {shot: n for n, shot in enumerate(choices.pictures, 1)}
        for shot in choices.shots:
            self.fields[f"pictures_{shot.pk}"] = _count(
                f"Shot {shot.code}, pictures to take", MOST_PICTURES, choices.pictures.get(shot.pk)
            )
            self.fields[f"order_{shot.pk}"] = _count(
                f"Shot {shot.code}, place in the order", 9999, order.get(shot.pk)
            )

    @property
    def shot_rows(self) -> list[ShotRow]:
        return [
            ShotRow(shot, self[f"pictures_{shot.pk}"], self[f"order_{shot.pk}"])
            for shot in self.choices.shots
        ]

    @property
    def call_fields(self) -> list[forms.BoundField]:
        return [self[f"call_{person.pk}"] for person in self.choices.people]

    @property
    def day_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("day", "call", "wrap")]

    @property
    def pictures(self) -> dict[int, int]:
        """Pictures to take by shot, in shooting order; shots without a place come last."""
        chosen = [s.pk for s in self.choices.shots if self.cleaned_data[f"pictures_{s.pk}"]]
        chosen.sort(key=lambda pk: self.cleaned_data[f"order_{pk}"] or 10_000)
        return {pk: self.cleaned_data[f"pictures_{pk}"] for pk in chosen}

    @property
    def calls(self) -> dict[int, time]:
        """Call times by person."""
        times = {
            person.pk: self.cleaned_data[f"call_{person.pk}"] for person in self.choices.people
        }
        return {pk: call for pk, call in times.items() if call is not None}

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if day == self.day_before:
            return day
        if day < self.today - EARLIEST:
            raise forms.ValidationError(
                f"{day} is more than a month ago. A call sheet is for a day to come: log what was "
                "shot as a session instead."
            )
        if day > self.today + LATEST:
            raise forms.ValidationError(f"{day} is more than a year ahead. Check the year.")
        return day

    def clean(self) -> dict:
        cleaned = super().clean()
        day, call, wrap = (cleaned.get(name) for name in ("day", "call", "wrap"))
        if call and call == wrap:
            self.add_error(
                "wrap", f"The wrap is the call, {call:%H:%M}. Give the time the day ends."
            )
        elif day and call and wrap:
            self._check_calls(Hours(day, call, wrap))
        return cleaned

    def _check_calls(self, hours: Hours) -> None:
        """Nobody is called when the day is over."""
        for person in self.choices.people:
            name = f"call_{person.pk}"
            at = self.cleaned_data.get(name)
            if at is not None and hours.moment(at, UTC) >= hours.end(UTC):
                self.add_error(
                    name,
                    f"{person.name} is called at {at:%H:%M}, when the day has wrapped "
                    f"({hours.wrap:%H:%M}). Call them earlier, or leave the time empty.",
                )

    @property
    def compared(self) -> list[str]:
        return [name for name in self.fields if name != "read_version"]

    def of(self, current: CallSheet) -> "CallSheetForm":
        choices = replace(self.choices, pictures=pictures_of(current), calls=calls_of(current))
        return type(self)(instance=current, choices=choices, today=self.today)

    def meet(self, current: CallSheet) -> None:
        super().meet(current)
        self.differences = [
            replace(row, current=_clock(row.current), mine=_clock(row.mine))
            for row in self.differences
        ]


def _count(label: str, most: int, initial: int | None) -> forms.IntegerField:
    """A small number field that is named for those who cannot see its column."""
    return forms.IntegerField(
        label=label,
        required=False,
        initial=initial,
        min_value=1,
        max_value=most,
        widget=forms.NumberInput(attrs={"aria-label": label, "inputmode": "numeric"}),
        error_messages={
            "min_value": "At least 1; leave it empty for a shot that is not on the sheet.",
            "max_value": f"At most {most}.",
            "invalid": "A whole number, as 18.",
        },
    )


def _clock(value: object) -> object:
    return f"{value:%H:%M}" if isinstance(value, time) else value

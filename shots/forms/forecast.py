"""The form of a change of plan to try out."""

from datetime import date

from django import forms

from shots.models import Shot
from shots.queries.what_if import Plan
from studio.forms import DateInput

EXPOSURES = [("", "as it is"), (1, "ones"), (2, "twos"), (3, "threes"), (4, "fours")]


class WhatIfForm(forms.Form):
    """What to change; every field may stay empty."""

    helper_days = forms.FloatField(
        label="A helper’s days",
        required=False,
        min_value=0,
        max_value=500,
        help_text="Full days somebody shoots beside you, as 1 or 2.5.",
        widget=forms.NumberInput(attrs={"step": "0.5"}),
    )
    exposure = forms.TypedChoiceField(
        label="Exposure",
        required=False,
        choices=EXPOSURES,
        coerce=int,
        empty_value=None,
        help_text="Of the shots not begun; one begun keeps its own.",
    )
    hours_per_day = forms.FloatField(
        label="Hours in a day",
        required=False,
        min_value=0.5,
        max_value=24,
        widget=forms.NumberInput(attrs={"step": "0.25"}),
        help_text="Tired hands are slow: long days seldom give all their hours.",
    )
    deadline = forms.DateField(label="A later deadline", required=False, widget=DateInput())
    cut = forms.MultipleChoiceField(
        label="Shots to cut", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, data, *, left: list[Shot], today: date, hours_per_day: float):
        super().__init__(data)
        self.today = today
        self.fields["cut"].choices = [(shot.code, _named(shot)) for shot in left]
        self.fields["hours_per_day"].widget.attrs["placeholder"] = f"{hours_per_day:g} now"

    def clean_deadline(self) -> date | None:
        day = self.cleaned_data["deadline"]
        if day and day < self.today:
            raise forms.ValidationError("That day has passed. Choose today or a later one.")
        return day

    @property
    def plan(self) -> Plan:
        """The plan of a valid form."""
        cleaned = self.cleaned_data
        return Plan(
            helper_days=cleaned["helper_days"] or 0.0,
            exposure=cleaned["exposure"],
            cut=tuple(cleaned["cut"]),
            hours_per_day=cleaned["hours_per_day"],
            deadline=cleaned["deadline"],
        )


def _named(shot: Shot) -> str:
    left = f"{shot.code} · {shot.pictures_left} pictures"
    return f"{left} · {shot.description}" if shot.description else left

"""Forms of a session: starting, counting, finishing, and entering or correcting one whole."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django import forms
from django.utils import timezone

from shots.models import Incident, PreShootCheck, Production, Session, Setup, Shot
from shots.queries.changes import SessionStood
from shots.services.session_counts import MOST_PICTURES
from shots.trade.session_times import moments, whole_minute
from studio.forms import DateInput, DateTimeInput, VersionedModelForm
from studio.models import Person

MOST_MINUTES = 24 * 60
COUNTS = [("kept", "kept"), ("discarded", "discarded")]


class TimeInput(forms.TimeInput):
    """The browser's own time picker."""

    input_type = "time"

    def __init__(self, **kwargs):
        super().__init__(format="%H:%M", **kwargs)


def _minutes(label: str, help_text: str = "") -> forms.IntegerField:
    return forms.IntegerField(
        label=f"{label} (min)",
        min_value=0,
        max_value=MOST_MINUTES,
        help_text=help_text,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


def _pictures(label: str, **kwargs) -> forms.IntegerField:
    attrs = {"inputmode": "numeric"} | kwargs.pop("attrs", {})
    return forms.IntegerField(
        label=label,
        min_value=0,
        max_value=MOST_PICTURES,
        widget=forms.NumberInput(attrs=attrs),
        error_messages={
            "required": "Pictures are whole numbers, as 42.",
            "invalid": "Pictures are whole numbers, as 42.",
            "min_value": "Pictures are 0 or more.",
            "max_value": f"More than {MOST_PICTURES} pictures of one shot in one session? "
            "Check the number.",
        },
        **kwargs,
    )


class StartForm(forms.Form):
    """Set-up, people and checks before the first picture."""

    setup = forms.ModelChoiceField(
        Setup.objects.none(), label="Set-up", required=False, empty_label="No set-up"
    )
    people = forms.ModelMultipleChoiceField(
        Person.objects.none(), widget=forms.CheckboxSelectMultiple, label="Who is here"
    )
    checks = forms.ModelMultipleChoiceField(
        PreShootCheck.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        label="Before the first picture",
        required=False,
    )

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["setup"].queryset = Setup.objects.current().filter(production=production)
        self.fields["people"].queryset = Person.objects.filter(is_active=True)
        self.fields["people"].error_messages["required"] = "Tick who is here, yourself at least."
        self.fields["checks"].queryset = PreShootCheck.objects.all()

    @property
    def ticked(self) -> list[int]:
        return [check.pk for check in self.cleaned_data["checks"]]


class AddForm(forms.Form):
    """A tap on a −/+ button."""

    count = forms.ChoiceField(choices=COUNTS)
    add = forms.IntegerField(min_value=-MOST_PICTURES, max_value=MOST_PICTURES)


class SetForm(forms.Form):
    """A number typed over the number its reader saw."""

    count = forms.ChoiceField(choices=COUNTS)
    value = _pictures("Pictures")
    read = forms.IntegerField(min_value=0)


class IncidentForm(forms.ModelForm):
    """What went wrong. The kind is the button that was tapped."""

    KINDS = Incident.Kind.choices

    picture = _pictures("At picture", required=False)

    class Meta:
        model = Incident
        fields = ["kind", "shot", "picture", "note"]

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shot"].queryset = Shot.objects.current().filter(production=production)
        self.fields["kind"].error_messages["required"] = "Tap what happened."


class FinishForm(forms.Form):
    """The end of a running session."""

    ended = forms.DateTimeField(
        label="Ended", required=False, widget=DateTimeInput(), help_text="Leave empty for now."
    )
    setup_minutes = _minutes("Set-up", "Everything before the first picture, and between.")
    break_minutes = _minutes("Breaks", "Pauses are added already.")
    notes = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}))


def _setup_order(shot: Shot) -> tuple:
    """Shots by set-up, those without one last."""
    setup = shot.setup
    return (0, setup.position, setup.pk) if setup else (1, 0, 0)


@dataclass(frozen=True)
class CountRow:
    """The two number fields of one shot."""

    shot: Shot
    kept: forms.BoundField
    discarded: forms.BoundField


@dataclass(frozen=True)
class CountGroup:
    """The shots of one set-up; shown open where there is something to see."""

    name: str
    rows: tuple[CountRow, ...]
    is_open: bool


def past_entries(stood: SessionStood) -> dict:
    """What the form of a session as it stood begins with, beside what is in its row."""
    entries = {} if stood.people is None else {"people": stood.people}
    for shot, numbers in (stood.counts or {}).items():
        entries |= {
            f"{count}_{shot}": number or None
            for (count, _), number in zip(COUNTS, numbers, strict=True)
        }
    return entries


class SessionForm(VersionedModelForm):
    """A session entered after the fact, or corrected: its times, people, and pictures by shot."""

    start = forms.TimeField(label="Start", widget=TimeInput())
    ended = forms.TimeField(
        label="End",
        widget=TimeInput(),
        help_text="Earlier than the start means after midnight.",
    )
    setup_minutes = _minutes("Set-up")
    break_minutes = _minutes("Breaks")

    class Meta:
        model = Session
        fields = [
            "day", "start", "ended", "setup", "setup_minutes", "break_minutes", "people", "notes",
        ]  # fmt: skip
        widgets = {
            "day": DateInput(),
            "people": forms.CheckboxSelectMultiple,
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, production: Production, shots: Iterable[Shot], **kwargs):
        super().__init__(*args, **kwargs)
        self.production, self.shots = production, list(shots)
        session = self.instance
        setups = Setup.objects.filter(production=production)
        self.fields["setup"].queryset = setups.current() | setups.filter(pk=session.setup_id)
        self.fields["setup"].empty_label = "No set-up"
        people = Person.objects.filter(is_active=True)
        if session.pk:
            self.initial["start"] = whole_minute(timezone.localtime(session.started_at)).time()
            if session.ended_at:
                self.initial["ended"] = whole_minute(timezone.localtime(session.ended_at)).time()
            people = (people | Person.objects.filter(sessions=session)).distinct()
        self.fields["people"].queryset = people
        self._add_counts()

    def _add_counts(self) -> None:
        output = {}
        if self.instance.pk:
            output = {row.shot_id: row for row in self.instance.output.all()}
        for shot in self.shots:
            for count, _ in COUNTS:
                self.fields[f"{count}_{shot.pk}"] = _pictures(
                    f"{shot.code} {count}",
                    required=False,
                    attrs={"aria-label": f"{shot.code} {count}"},
                    initial=getattr(output.get(shot.pk), count, None) or None,
                )

    @property
    def groups(self) -> list[CountGroup]:
        """The number fields, by set-up."""
        by_setup = sorted(self.shots, key=_setup_order)
        grouped = [
            (setup, list(shots)) for setup, shots in groupby(by_setup, key=lambda shot: shot.setup)
        ]
        return [
            self._group(str(setup) if setup else "No set-up", shots, alone=len(grouped) == 1)
            for setup, shots in grouped
        ]

    def _group(self, name: str, shots: list[Shot], alone: bool) -> CountGroup:
        rows = tuple(
            CountRow(shot, self[f"kept_{shot.pk}"], self[f"discarded_{shot.pk}"]) for shot in shots
        )
        filled = any(
            field.value() not in (None, "") or field.errors
            for row in rows
            for field in (row.kept, row.discarded)
        )
        return CountGroup(name, rows, alone or filled)

    def clean(self) -> dict:
        cleaned = super().clean()
        if all(cleaned.get(name) for name in ("day", "start", "ended")):
            cleaned["moments"] = moments(
                cleaned["day"],
                cleaned["start"],
                cleaned["ended"],
                timezone.get_current_timezone(),
            )
        return cleaned

    @property
    def changes(self) -> dict:
        started, ended = self.cleaned_data["moments"]
        if self.instance.pk and not {"day", "start", "ended"} & set(self.changed_data):
            # As stored: in the hour the clocks go back, a time of day names two moments.
            started, ended = self.instance.started_at, self.instance.ended_at
        names = ("day", "setup", "setup_minutes", "break_minutes", "notes")
        return {name: self.cleaned_data[name] for name in names} | {
            "started_at": started,
            "ended_at": ended,
        }

    @property
    def counts(self) -> dict[int, tuple[int, int]]:
        """Kept and discarded pictures by shot id; empty fields are 0."""
        return {
            shot.pk: tuple(self.cleaned_data[f"{count}_{shot.pk}"] or 0 for count, _ in COUNTS)
            for shot in self.shots
        }

    @property
    def compared(self) -> list[str]:
        return super().compared + [
            f"{count}_{shot.pk}" for shot in self.shots for count, _ in COUNTS
        ]

    def of(self, current: Session) -> "SessionForm":
        return SessionForm(instance=current, production=self.production, shots=self.shots)

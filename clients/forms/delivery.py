"""Forms of a delivery: what leaves, and what the client answers."""

from collections.abc import Sequence
from dataclasses import dataclass

from django import forms

from clients.models import ClientAnswer
from clients.queries.deliveries import Letter, Ready
from clients.services.deliveries import Chosen
from studio.forms import DateInput


@dataclass(frozen=True)
class LeavingRow:
    """A deliverable in the form, with its own fields."""

    ready: Ready
    seen: forms.BoundField
    leaves: forms.BoundField
    offered: forms.BoundField
    changed: forms.BoundField


class DeliveryForm(forms.Form):
    """A delivery to be made; each deliverable that is ready has fields of its own."""

    day = forms.DateField(label="Date of the delivery", widget=DateInput())
    words = forms.CharField(
        label="A word to the client", required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip
    licence = forms.CharField(
        label="Licence reminder", required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed on the sheet. What was agreed in writing decides.",
    )  # fmt: skip

    def __init__(self, *args, ready: Sequence[Ready], **kwargs):
        super().__init__(*args, **kwargs)
        self.ready = [row for row in ready if not row.refusal]
        for row in self.ready:
            pk, name = row.deliverable.pk, row.deliverable.name
            self.fields[f"seen_{pk}"] = forms.IntegerField(
                widget=forms.HiddenInput, initial=row.file_check.pk
            )
            self.fields[f"leaves_{pk}"] = forms.BooleanField(
                label=f"{name} leaves", required=False, initial=not row.is_same
            )
            self.fields[f"offered_{pk}"] = forms.BooleanField(
                label=f"The client may download {name}", required=False, initial=True
            )
            self.fields[f"changed_{pk}"] = forms.CharField(
                label=f"What changed in {name}", required=False, max_length=1000,
                widget=forms.Textarea(attrs={"rows": 2}),
            )  # fmt: skip

    @property
    def rows(self) -> list[LeavingRow]:
        """The deliverables that may leave."""
        return [
            LeavingRow(row, *(self[f"{part}_{row.deliverable.pk}"] for part in LEAVING_PARTS))
            for row in self.ready
        ]

    def clean(self) -> dict:
        cleaned = super().clean()
        for row in self.ready:
            changed = f"changed_{row.deliverable.pk}"
            leaves_again = row.before and cleaned.get(f"leaves_{row.deliverable.pk}")
            if leaves_again and not cleaned.get(changed) and not row.changes:
                self.add_error(changed, "Say what is different from the version before.")
        return cleaned

    @property
    def chosen(self) -> list[Chosen]:
        cleaned = self.cleaned_data
        return [
            Chosen(pk, *(cleaned[f"{part}_{pk}"] for part in ("seen", "offered", "changed")))
            for pk in (row.deliverable.pk for row in self.ready)
            if cleaned[f"leaves_{pk}"]
        ]

    @property
    def letter(self) -> Letter:
        return Letter(*(self.cleaned_data[name] for name in ("day", "words", "licence")))


LEAVING_PARTS = ("seen", "leaves", "offered", "changed")


class AnswerForm(forms.Form):
    """The client's word on one delivered version."""

    of = forms.IntegerField(widget=forms.HiddenInput)  # a delivered version
    kind = forms.ChoiceField(choices=ClientAnswer.Kind.choices, widget=forms.HiddenInput)
    name = forms.CharField(label="Your name", max_length=120)
    words = forms.CharField(
        label="What is to be changed, or a remark", required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    @property
    def answered(self) -> int | None:
        """The version a refused form was about."""
        return self.cleaned_data.get("of") if self.is_bound else None

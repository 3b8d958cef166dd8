"""The form of a set-up: its lock card, and its lamps one a line."""

from django import forms

from shots.models import Setup
from shots.trade.lamps import LampError, LampLine, parse_lamps
from studio.forms import VersionedModelForm


class LampsField(forms.CharField):
    """Lamps typed one a line, kept as LampLines."""

    def __init__(self, **kwargs):
        super().__init__(widget=forms.Textarea(attrs={"rows": 4}), **kwargs)

    def prepare_value(self, value):
        return value if isinstance(value, str) else "\n".join(str(lamp) for lamp in value or ())

    def to_python(self, value) -> tuple[LampLine, ...]:
        try:
            return parse_lamps(super().to_python(value))
        except LampError as error:
            raise forms.ValidationError(str(error)) from error

    def has_changed(self, initial, data) -> bool:
        try:
            return tuple(initial or ()) != self.to_python(data)
        except forms.ValidationError:
            return True


class SetupForm(VersionedModelForm):
    """A set-up with its lock card."""

    lamps = LampsField(required=False, help_text="One a line, as Key 650 W.")

    class Meta:
        model = Setup
        fields = [
            "code", "name", "camera", "focal_length_mm", "aperture", "shutter", "iso",
            "white_balance_k", "focus_distance", "lamps", "notes",
        ]  # fmt: skip
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["lamps"] = tuple(
                LampLine(lamp.name, lamp.watts) for lamp in self.instance.lamps.all()
            )

    @property
    def changes(self) -> dict:
        changes = super().changes
        changes.pop("lamps")
        return changes

    @property
    def lamps_typed(self) -> tuple[LampLine, ...]:
        return self.cleaned_data["lamps"]

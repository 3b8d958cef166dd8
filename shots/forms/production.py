"""Forms of a production and of the lists all productions share."""

from django import forms

from shots.models import Difficulty, PreShootCheck, Production
from studio.forms import DateInput, LengthField, ListRowForm, RateField, VersionedModelForm


class ProductionForm(VersionedModelForm):
    """A production. Its rate is typed as one thing and kept as an exact fraction."""

    rate = RateField(label="Frame rate")
    contracted_frames = LengthField(label="Contracted runtime", required=False)

    class Meta:
        model = Production
        fields = [
            "title", "code", "rate", "exposure", "contracted_frames", "start", "deadline",
            "place", "directions", "emergency_care", "notes",
        ]  # fmt: skip
        widgets = {
            "start": DateInput(), "deadline": DateInput(),
            "place": forms.Textarea(attrs={"rows": 2}),
            "directions": forms.Textarea(attrs={"rows": 2}),
            "emergency_care": forms.Textarea(attrs={"rows": 2}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["contracted_frames"].rate = self.instance.rate
        self.initial["rate"] = self.fields["rate"].initial = self.instance.rate

    def clean_rate(self):
        # The runtime typed on the same page counts at the rate typed beside it.
        self.fields["contracted_frames"].rate = self.cleaned_data["rate"]
        return self.cleaned_data["rate"]

    def clean_code(self) -> str:
        code = self.cleaned_data["code"]
        taken = Production.objects.filter(code__iexact=code).exclude(pk=self.instance.pk).first()
        if taken:
            raise forms.ValidationError(
                f"“{taken.title}” has the code {taken.code} already. Choose another."
            )
        return code

    def clean(self) -> dict:
        cleaned = super().clean()
        start, deadline = cleaned.get("start"), cleaned.get("deadline")
        if start and deadline and deadline < start:
            self.add_error(
                "deadline", "The deadline is before the first shooting day. Correct one."
            )
        return cleaned

    @property
    def changes(self) -> dict:
        changes = super().changes
        rate = changes.pop("rate")
        return changes | {
            "rate_numerator": rate.numerator,
            "rate_denominator": rate.denominator,
        }


DifficultyFormSet = forms.modelformset_factory(
    Difficulty, form=ListRowForm, fields=["name", "pictures_per_hour"], extra=1, can_delete=False
)
PreShootCheckFormSet = forms.modelformset_factory(
    PreShootCheck, form=ListRowForm, fields=["text"], extra=2, can_delete=True
)

"""Forms of the paper beside the camera: beats, blank exposure sheets, the spacing gauge."""

from fractions import Fraction

from django import forms

from shots.models import Beats, Production, Shot
from shots.trade.beats import Beat, BeatError, read_beats
from shots.trade.easing import WORDS
from shots.trade.spacing import Move
from studio.forms import LengthField, VersionedModelForm

MOST_BLANK_FRAMES = 10_000
MOST_TRAVEL = 100_000  # mm


class BeatsForm(VersionedModelForm):
    """What happens in a shot, one beat a line."""

    class Meta:
        model = Beats
        fields = ["text"]
        widgets = {
            "text": forms.Textarea(
                attrs={"rows": 10, "placeholder": "hold 12 f\nwave: raise 90° in 8 pictures"}
            )
        }

    def __init__(self, *args, shot: Shot, rate: Fraction, **kwargs):
        super().__init__(*args, **kwargs)
        self.shot, self.rate = shot, rate
        self.beats: tuple[Beat, ...] = ()
        self.unread = ""
        if not self.is_bound and self.instance.text:
            try:
                self.beats = read_beats(self.instance.text, rate, shot.exposure)
            except BeatError as error:  # the shot's exposure changed since they were written
                self.unread = str(error)

    def clean_text(self) -> str:
        text = self.cleaned_data["text"]
        try:
            self.beats = read_beats(text, self.rate, self.shot.exposure)
        except BeatError as error:
            raise forms.ValidationError(str(error)) from error
        return text

    def of(self, current: Beats) -> "BeatsForm":
        return BeatsForm(instance=current, shot=self.shot, rate=self.rate)


class BlankSheetForm(forms.Form):
    """An exposure sheet to fill in by hand."""

    length = LengthField()
    exposure = forms.IntegerField(min_value=1, max_value=100, initial=2)

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["length"].rate = production.rate
        self.fields["length"].initial = "2 s"
        self.fields["exposure"].initial = production.exposure

    def clean_length(self) -> int:
        frames = self.cleaned_data["length"]
        if frames > MOST_BLANK_FRAMES:
            raise forms.ValidationError(
                f"{frames:,} frames are more paper than anyone needs; give at most "
                f"{MOST_BLANK_FRAMES:,} f."
            )
        return frames


class GaugeForm(forms.Form):
    """A move to print at full size."""

    title = forms.CharField(
        label="What moves", max_length=80, required=False, help_text="As 040, the fox’s head."
    )
    travel = forms.FloatField(
        label="How far", help_text="Distance or angle.", max_value=MOST_TRAVEL,
        error_messages={"max_value": "Over 100 m? Check the unit."},
    )  # fmt: skip
    unit = forms.ChoiceField(choices=[("mm", "mm"), ("cm", "cm"), ("degrees", "degrees (°)")])
    pictures = forms.IntegerField(label="In how many new pictures")
    ease = forms.ChoiceField(choices=list(WORDS.items()), initial="both")
    anticipation = forms.FloatField(
        label="Anticipation (%)", required=False, help_text="Of the travel, back before the start."
    )
    overshoot = forms.FloatField(
        label="Overshoot (%)", required=False, help_text="Of the travel, past the end and back."
    )
    radius = forms.FloatField(
        label="Radius (mm)", required=False, help_text="Of the arc, for an angle. Empty: 80."
    )

    def clean(self) -> dict:
        cleaned = super().clean()
        if self.errors:
            return cleaned
        centimetres = cleaned["unit"] == "cm"
        try:
            cleaned["move"] = Move(
                travel=cleaned["travel"] * (10 if centimetres else 1),
                unit="mm" if centimetres else cleaned["unit"],
                pictures=cleaned["pictures"],
                ease=cleaned["ease"],
                anticipation=(cleaned["anticipation"] or 0) / 100,
                overshoot=(cleaned["overshoot"] or 0) / 100,
            )
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error
        return cleaned

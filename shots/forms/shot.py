"""Forms of a shot, of what is done to it, and of bringing a shot list in."""

from django import forms

from shots.models import Difficulty, Production, Shot
from shots.trade import shot_list
from shots.trade.budget import BudgetError, ShotLength
from studio.forms import LengthField, VersionedModelForm

# Names the frame budget uses, where the form's differ.
FIELD_OF = {"handles": "handle_frames"}


NUMBERS = (
    "screen_frames", "exposure", "held_frames", "holds", "reused_frames", "handle_frames",
)  # fmt: skip


class CountField(forms.IntegerField):
    """A whole number of frames, holds or pictures."""

    def __init__(self, least: int = 0, most: int = shot_list.MOST_FRAMES, **kwargs):
        wanted = f"Write a whole number from {least} to {most:,}, in digits."
        super().__init__(
            min_value=least,
            max_value=most,
            error_messages={"invalid": wanted, "min_value": wanted, "max_value": wanted},
            **kwargs,
        )


class ShotForm(VersionedModelForm):
    """A shot. `pictures` is its frame budget, None while the numbers contradict themselves."""

    screen_frames = LengthField(
        label="Length", error_messages={"required": "Give the shot a length, as 4.5 or 108 f."}
    )
    exposure = CountField(1, shot_list.MOST["exposure"], help_text="1 for ones, 2 for twos.")
    held_frames = CountField(label="Held frames", initial=0, help_text="In all holds together.")
    holds = CountField(0, shot_list.MOST["holds"], initial=0, help_text="How many: a picture each.")
    reused_frames = CountField(label="Reused frames", initial=0, help_text="They cost no picture.")
    handle_frames = CountField(label="Handle frames", initial=0, help_text="Both ends together.")

    class Meta:
        model = Shot
        fields = [
            "code", "description", "setup", "difficulty", "screen_frames", "exposure",
            "held_frames", "holds", "reused_frames", "handle_frames", "status", "notes",
        ]  # fmt: skip
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, production: Production | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        shot = self.instance
        production = production or shot.production
        self.pictures: int | None = shot.budget if shot.pk else None
        self.fields["screen_frames"].rate = production.rate
        if not shot.pk:
            self.fields["exposure"].initial = self.initial["exposure"] = production.exposure
        self.fields["setup"].queryset = production.setups.current() | production.setups.filter(
            pk=shot.setup_id
        )
        self.fields["setup"].empty_label = "none yet"
        self.fields["difficulty"].empty_label = None
        # Cutting, and marking to retake, are acts of their own: they count pictures.
        kept_for_acts = {Shot.Status.CUT, Shot.Status.TO_RETAKE} - {shot.status}
        self.fields["status"].choices = [
            choice for choice in Shot.Status.choices if choice[0] not in kept_for_acts
        ]

    def clean(self) -> dict:
        cleaned = super().clean()
        self.pictures = None
        numbers = {
            "screen_frames": cleaned.get("screen_frames"),
            "exposure": cleaned.get("exposure"),
            "handles": cleaned.get("handle_frames"),
            "held_frames": cleaned.get("held_frames"),
            "holds": cleaned.get("holds"),
            "reused_frames": cleaned.get("reused_frames"),
        }
        if None not in numbers.values():
            try:
                self.pictures = ShotLength(**numbers).pictures
            except BudgetError as error:
                self.add_error(FIELD_OF.get(error.field, error.field), error.sentence)
        return cleaned

    @property
    def number_faults(self) -> list[tuple[str, str]]:
        """What keeps the frame budget from being counted: label and sentence."""
        return [(self[name].label, self.errors[name][0]) for name in NUMBERS if name in self.errors]


class SplitForm(forms.Form):
    """Where to split a shot."""

    at = LengthField(label="Split after", help_text="The first shot’s length, as 1.5 or 36 f.")


class RetakeForm(forms.Form):
    """How many kept pictures to take again."""

    pictures = CountField(1, label="Pictures again")


class StoryboardForm(forms.Form):
    """A storyboard picture."""

    picture = forms.FileField(
        label="Storyboard picture",
        allow_empty_file=True,  # the service says what is wrong with an empty one
        widget=forms.FileInput(attrs={"accept": "image/*"}),
    )


class ShotFilterForm(forms.Form):
    """Which shots to show. What is not understood shows everything."""

    setup = forms.ModelChoiceField(queryset=None, required=False, empty_label="all set-ups")
    status = forms.ChoiceField(choices=[("", "every status"), *Shot.Status.choices], required=False)
    difficulty = forms.ModelChoiceField(
        queryset=Difficulty.objects.all(), required=False, empty_label="every difficulty"
    )

    def __init__(self, data, production: Production):
        super().__init__(data, auto_id="filter_%s")
        self.fields["setup"].queryset = production.setups.current()
        self.fields["setup"].label = "Set-up"

    @property
    def chosen(self) -> dict:
        """Field → wanted value, of those that are set."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


class ShotListForm(forms.Form):
    """A shot list to bring in, pasted or as a file."""

    LARGEST = 6_000_000  # bytes; 50,000 rows are about 3 million

    pasted = forms.CharField(
        label="Paste the list",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "wrap": "off", "spellcheck": "false"}),
        help_text="With its headings in the first row. Commas, semicolons or tabs between columns.",
    )
    file = forms.FileField(
        label="Or choose a CSV file", required=False, allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv"}),
    )  # fmt: skip
    encoding = forms.ChoiceField(
        label="Encoding of the file",
        required=False,
        choices=shot_list.ENCODINGS.items(),
        help_text="Change it only if letters come out wrong.",
    )

    def clean(self) -> dict:
        """`text` is the list, from whichever was given."""
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("pasted") or ""
        if (file.size if file else len(pasted)) > self.LARGEST:
            raise forms.ValidationError(
                f"The list is larger than {self.LARGEST // 1_000_000} MB. Bring it in parts."
            )
        try:
            cleaned["text"] = (
                shot_list.decode(file.read(), cleaned.get("encoding") or "utf-8")
                if file
                else pasted
            )
        except shot_list.ListError as error:
            self.add_error("file", str(error))
        return cleaned

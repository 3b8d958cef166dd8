"""Forms of a deliverable and its checks."""

from collections.abc import Mapping

from django import forms
from django.db.models import Q

from clients.models import Deliverable, DeliverableCheck, StudioSpecification
from clients.trade.delivery import FIRST_CHECKS
from clients.trade.filename import NameRefused, build_name
from shots.models import Production
from studio.forms import LengthField, RateField, VersionedModelForm
from studio.trade.timecode import rate_label, seconds_and_frames

LARGEST_SIDE = 65_535  # pixels: sixteen bits, more than any screen asks for


# What a client may ask for in words, which nobody can measure.
IN_WORDS = ("container", "codec", "colour", "sound", "loudness", "captions")


class SideField(forms.IntegerField):
    """One side of a picture, in pixels."""

    def __init__(self, **kwargs):
        super().__init__(required=False, help_text="Pixels.", **kwargs)

    def validate(self, value: int | None) -> None:
        if value is not None and not 1 <= value <= LARGEST_SIDE:
            raise forms.ValidationError(
                f"A picture side is 1 to {LARGEST_SIDE} pixels, got {value}. Correct it, or leave "
                "it empty."
            )


class DeliverableForm(VersionedModelForm):
    """A file promised. What stays empty was not asked for."""

    width = SideField(label="Picture width")
    height = SideField(label="Picture height")
    rate = RateField(label="Frame rate", required=False)
    frames = LengthField(label="Length", required=False)

    class Meta:
        model = Deliverable
        fields = [
            "name", "purpose", "specification", "width", "height", "rate", "frames", "container",
            "codec", "colour", "sound", "loudness", "captions", "file_name", "notes",
        ]  # fmt: skip
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["frames"].rate = self.instance.length_rate
        self._say_how_long_the_film_is(self.instance.production)
        chosen = Q(archived_at=None) | Q(pk=self.instance.specification_id)
        self.fields["specification"].queryset = StudioSpecification.objects.filter(chosen)
        self.fields["specification"].empty_label = "none: only what stands below"
        self.initial["rate"] = self.instance.rate

    def _say_how_long_the_film_is(self, film: Production) -> None:
        """Left empty, the length is the film's, and changes with it."""
        length = self.fields["frames"]
        if film.contracted_frames:
            own = seconds_and_frames(film.contracted_frames, film.rate)
            length.help_text = f"Empty follows the film, {own} now. Else {_lower(length.help_text)}"

    @property
    def in_words(self) -> list[forms.BoundField]:
        """What was asked for in the client's own words."""
        return [self[name] for name in IN_WORDS]

    @property
    def others(self) -> list[forms.BoundField]:
        return [field for field in self if field.name not in IN_WORDS]

    @property
    def shows_words(self) -> bool:
        """Whether anything stands there."""
        return any(field.value() or field.errors for field in self.in_words)

    def clean_rate(self):
        # The length typed on the same page counts at the rate typed beside it.
        rate, chosen = self.cleaned_data["rate"], self.cleaned_data.get("specification")
        asked = chosen.wanted.frame_rate if chosen else None
        self.fields["frames"].rate = asked or rate or self.instance.production.rate
        return rate

    def clean_file_name(self) -> str:
        name = self.cleaned_data["file_name"]
        if not name:
            return name
        try:
            build_name(name, self.instance.name_fields | {"deliverable": "A"}, version=1)
        except NameRefused as refusal:
            raise forms.ValidationError(str(refusal)) from None
        called = {"deliverable": self.cleaned_data.get("name") or ""}
        built = _first_name(name, self.instance.name_fields | called)
        others = self.instance.production.deliverables.current().exclude(pk=self.instance.pk)
        for other in others.exclude(file_name=""):
            if _first_name(other.file_name, other.name_fields) == built:
                raise forms.ValidationError(
                    f"“{other.name}” has this file name already: one file would replace the other. "
                    "Choose another."
                )
        return name

    def clean(self) -> dict:
        cleaned = super().clean()
        if "width" in cleaned and "height" in cleaned:
            width, height = cleaned["width"], cleaned["height"]
            if (width is None) != (height is None):
                missing = "width" if width is None else "height"
                self.add_error(missing, "Give width and height both, or neither.")
        if cleaned.get("specification"):
            self._refuse_contradictions(cleaned["specification"])
        return cleaned

    def _refuse_contradictions(self, chosen: StudioSpecification) -> None:
        """The specification stands; what is typed beside it only adds to it."""
        wanted = chosen.wanted
        said = {"width": wanted.width, "height": wanted.height, "rate": wanted.frame_rate}
        for field, asked in said.items():
            typed = self.cleaned_data.get(field)
            if asked and typed and typed != asked:
                shown = rate_label(asked) if field == "rate" else asked
                self.add_error(field, f"“{chosen}” asks for {shown}: leave this empty.")

    @property
    def changes(self) -> dict:
        changes = super().changes
        rate = changes.pop("rate")
        return changes | {
            "rate_numerator": rate.numerator if rate else None,
            "rate_denominator": rate.denominator if rate else None,
        }


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _first_name(pattern: str, fields: Mapping[str, str]) -> str:
    """What its first file is called, so that names are told apart as a disk tells them."""
    try:
        return build_name(pattern, fields, version=1).casefold()
    except NameRefused:
        return pattern.casefold()


class NewDeliverableForm(DeliverableForm):
    """A new promise, with the checks it starts from."""

    checks = forms.CharField(
        label="Checks, one a line",
        required=False,
        widget=forms.Textarea(attrs={"rows": len(FIRST_CHECKS) + 1}),
        help_text="Suggestions: take out what does not apply, add what the client asks for.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial["rate"] = self.instance.production.rate
        self.initial["checks"] = "\n".join(FIRST_CHECKS)

    def clean_checks(self) -> list[str]:
        lines = [" ".join(line.split()) for line in self.cleaned_data["checks"].splitlines()]
        lines = [line for line in lines if line]
        longest = DeliverableCheck._meta.get_field("text").max_length
        for line in lines:
            if len(line) > longest:
                raise forms.ValidationError(
                    f"A check is {longest} characters at most; “{line[:40]}…” has {len(line)}. "
                    "Make two of it."
                )
        if len(lines) > 100:
            raise forms.ValidationError(
                f"At most 100 checks a file, got {len(lines)}. Put several in one line."
            )
        return lines


class CheckForm(VersionedModelForm):
    """One thing to look at."""

    class Meta:
        model = DeliverableCheck
        fields = ["text"]
        labels = {"text": "Check"}

"""Forms of the pictures' pages."""

from django import forms

from shots.models import Production, Session
from shots.services.pictures import LONGEST_HOLD
from shots.trade.frame_order import Again

MOST_TIMES = 1000  # a picture is shown again


class ManyFilesInput(forms.ClearableFileInput):
    """A file field that takes several."""

    allow_multiple_selected = True


class ManyFilesField(forms.FileField):
    """Several files; each is judged when it is taken in, not here."""

    widget = ManyFilesInput(attrs={"multiple": True, "accept": "image/jpeg,image/png"})

    def clean(self, data, initial=None):
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files:
            raise forms.ValidationError("Choose at least one picture.")
        return list(files)


class PicturesForm(forms.Form):
    """Pictures to take in."""

    pictures = ManyFilesField(label="Pictures", help_text="JPEG or PNG, up to 64 megapixels each.")


class HashForm(forms.Form):
    """Is this very file in already?"""

    sha256 = forms.RegexField(r"^[0-9a-f]{64}$")


class OnScreenForm(forms.Form):
    """How long a picture stays on screen, and which pictures are shown again after it."""

    frames = forms.IntegerField(
        label="Held for (frames)",
        required=False,
        min_value=1,
        max_value=LONGEST_HOLD,
        help_text="Empty: the shot’s own exposure.",
        error_messages={"min_value": "A picture is held for at least 1 frame."},
    )
    again_from = forms.IntegerField(label="Again from", required=False, min_value=1)
    again_to = forms.IntegerField(label="to", required=False, min_value=1)
    again_times = forms.IntegerField(
        label="times", required=False, min_value=1, max_value=MOST_TIMES, initial=1
    )

    def clean(self):
        fields = super().clean()
        first, last = fields.get("again_from"), fields.get("again_to")
        if (first is None) != (last is None) and not self.errors:
            missing = "again_from" if first is None else "again_to"
            self.add_error(missing, "Give the first and the last picture, or neither.")
        return fields

    @property
    def again(self) -> Again | None:
        """What was asked to be shown again."""
        fields = self.cleaned_data
        if fields["again_from"] is None:
            return None
        return Again(fields["again_from"], fields["again_to"], fields["again_times"] or 1)


class LogForm(forms.Form):
    """Confirms what was shown; `session` puts everything into one session."""

    shown = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    session = forms.ModelChoiceField(Session.objects.none(), required=False)

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["session"].queryset = Session.objects.current().filter(production=production)


class DeclareForm(forms.Form):
    """What the shot is meant to do."""

    camera_moves = forms.BooleanField(required=False)
    light_changes = forms.BooleanField(required=False)
    read_version = forms.IntegerField(widget=forms.HiddenInput)

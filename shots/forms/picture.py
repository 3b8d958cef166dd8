"""Forms of the pictures' pages."""

from django import forms

from shots.models import Picture, Production, Session
from shots.services.pictures import LONGEST_HOLD


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

    pictures = ManyFilesField(label="Pictures", help_text="JPEG or PNG, up to 60 megapixels each.")


class HashForm(forms.Form):
    """Is this very file in already?"""

    sha256 = forms.RegexField(r"^[0-9a-f]{64}$")


class HoldForm(forms.Form):
    """How long a picture stays on screen."""

    frames = forms.IntegerField(
        label="Held for (frames)",
        required=False,
        min_value=1,
        max_value=LONGEST_HOLD,
        help_text="Empty: the shot’s own exposure.",
        error_messages={"min_value": "A picture is held for at least 1 frame."},
    )

    def __init__(self, *args, picture: Picture, **kwargs):
        super().__init__(*args, initial={"frames": picture.frames}, **kwargs)


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

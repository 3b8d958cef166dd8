"""Forms of a file to check, and of what is accepted although it does not fit."""

from django import forms
from django.conf import settings

from clients.models import AcceptedException


class PathForm(forms.Form):
    """A film on the server's own machine."""

    path = forms.CharField(
        label="Path of the film",
        max_length=1000,
        widget=forms.TextInput(attrs={"list": "films", "autocomplete": "off"}),
    )


class UploadForm(forms.Form):
    """A film, and its captions, from the browser's machine."""

    film = forms.FileField(
        label="The film",
        max_length=255,
        error_messages={"empty": "The file is empty: choose the film itself."},
    )
    captions = forms.FileField(
        label="Its captions", required=False, max_length=255, help_text="SRT or WebVTT."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        largest = f"{settings.LARGEST_FILM_UPLOAD_BYTES / 1e6:,.0f} MB"
        self.fields["film"].help_text = f"Up to {largest}; give the path of a larger one."

    def clean_film(self):
        film, largest = self.cleaned_data["film"], settings.LARGEST_FILM_UPLOAD_BYTES
        if film.size > largest:
            raise forms.ValidationError(
                f"The film has {film.size / 1e6:,.1f} MB; up to {largest / 1e6:,.0f} MB may be "
                "sent. Put it in an allowed folder and give its path."
            )
        return film


class ExceptionForm(forms.ModelForm):
    """What somebody accepted in writing."""

    class Meta:
        model = AcceptedException
        fields = ["item", "who", "why"]
        widgets = {
            "item": forms.HiddenInput,
            "why": forms.Textarea(attrs={"rows": 2}),
        }

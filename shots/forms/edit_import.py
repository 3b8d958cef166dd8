"""Forms of taking in an edit: the file, then what to take over of it."""

from pathlib import Path

from django import forms
from django.core import signing

from shots.edit_reading import readable_suffixes
from shots.models import Difficulty, Production
from shots.trade.edit_list import EditedShot

LARGEST_EDIT_BYTES = 20 * 1024 * 1024
SALT = "an edit beside the film"


class EditFileForm(forms.Form):
    """An edit to compare with the film."""

    file = forms.FileField(label="Edit")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        endings = [f".{suffix}" for suffix in readable_suffixes()]
        self.fields["file"].help_text = f"An OpenTimelineIO file: {', '.join(endings)}."
        self.fields["file"].widget.attrs["accept"] = ",".join(endings)

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > LARGEST_EDIT_BYTES:
            raise forms.ValidationError(
                f"{file.size / 1024**2:.0f} MB are too much for an edit; the most is "
                f"{LARGEST_EDIT_BYTES // 1024**2} MB. Export the timeline without media."
            )
        return file

    @property
    def suffix(self) -> str:
        return Path(self.cleaned_data["file"].name).suffix.lower()


class TakeOverForm(forms.Form):
    """The edit as it was read, carried along signed, and what is chosen of it."""

    edit = forms.CharField(widget=forms.HiddenInput)
    difficulty = forms.ModelChoiceField(
        Difficulty.objects.all(), label="New shots are", required=False
    )
    take_order = forms.BooleanField(label="Take over the order of the edit", required=False)

    def clean_edit(self) -> tuple[EditedShot, ...]:
        try:
            rows = signing.loads(self.cleaned_data["edit"], salt=SALT)
        except signing.BadSignature as error:
            raise forms.ValidationError("This comparison is damaged. Choose the file again.") from (
                error
            )
        return tuple(EditedShot(code, frames) for code, frames in rows)


def signed(edit: tuple[EditedShot, ...]) -> str:
    """The edit as `TakeOverForm` carries it from one page to the next."""
    return signing.dumps([[shot.code, shot.frames] for shot in edit], salt=SALT, compress=True)


def usual_difficulty(production: Production) -> Difficulty | None:
    """The one in the middle of the list, to start from."""
    rows = list(Difficulty.objects.all())
    return rows[len(rows) // 2] if rows else None

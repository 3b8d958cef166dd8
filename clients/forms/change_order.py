"""Forms of a change order: its words, its rows, and the client's yes."""

from decimal import Decimal

from django import forms

from clients.models import ChangeOrder, ShotChange
from clients.queries.change_orders import parts_to_come
from shots.models import Difficulty, Production, Shot
from shots.trade.shot_codes import next_code
from studio.forms import LengthField, VersionedModelForm
from studio.trade.timecode import seconds_and_frames


class ChangeOrderForm(VersionedModelForm):
    """A change order's words and terms."""

    class Meta:
        model = ChangeOrder
        fields = ["title", "reason", "milestone", "paid_with", "valid_days"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["paid_with"].queryset = parts_to_come(self.instance.quote)
        self.fields["paid_with"].empty_label = "Nothing else: on its own"


class ShotChoice(forms.ModelChoiceField):
    """A shot of the film, with its length, so that one sees what one changes."""

    def __init__(self, production: Production):
        super().__init__(
            production.shots.in_film().select_related("difficulty"),
            empty_label="Choose a shot",
            label="Shot",
        )
        self.rate = production.rate

    def label_from_instance(self, shot: Shot) -> str:
        length = seconds_and_frames(shot.screen_frames, self.rate)
        return f"{shot.code}, {length}, {shot.description}"[:80]


class LengthForm(forms.Form):
    """A shot gets another length."""

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, prefix="length", **kwargs)
        self.fields["shot"] = ShotChoice(production)
        self.fields["screen_frames"] = LengthField(label="New length", rate=production.rate)


class CutForm(forms.Form):
    """A shot leaves the film."""

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, prefix="cut", **kwargs)
        self.fields["shot"] = ShotChoice(production)


class NewShotForm(forms.ModelForm):
    """A shot more."""

    screen_frames = LengthField(label="Length")

    class Meta:
        model = ShotChange
        fields = [
            "code", "description", "screen_frames", "exposure", "difficulty", "setup", "new_setup",
        ]  # fmt: skip

    def __init__(self, *args, production: Production, **kwargs):
        super().__init__(*args, prefix="new", **kwargs)
        codes = list(production.shots.values_list("code", flat=True))
        self.fields["code"].initial = next_code(codes)
        self.fields["code"].validators += Shot._meta.get_field("code").validators
        self.fields["screen_frames"].rate = production.rate
        self.fields["exposure"].initial = production.exposure
        self.fields["exposure"].min_value = 1
        self.fields["difficulty"].queryset = Difficulty.objects.all()
        self.fields["difficulty"].empty_label = None
        self.fields["setup"].queryset = production.setups.current()
        self.fields["setup"].empty_label = "None yet"


class ExtraLineForm(forms.Form):
    """What else the change costs, or takes off."""

    label = forms.CharField(label="Line", max_length=120)
    amount = forms.DecimalField(
        label="Amount before tax",
        max_digits=14,
        decimal_places=4,
        help_text="Below zero takes something off.",
    )
    tax_rate = forms.DecimalField(
        label="Tax %", min_value=0, max_value=100, max_digits=5, decimal_places=2,
        initial=Decimal(0),
    )  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, prefix="line", **kwargs)


class ChangeAcceptForm(forms.Form):
    """The client says yes to a change."""

    name = forms.CharField(label="Your name", max_length=120)
    agreed = forms.BooleanField(
        label="I accept this change as it is described here",
        error_messages={"required": "Tick this if you accept the change."},
    )

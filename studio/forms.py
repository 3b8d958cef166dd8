"""Forms of the house. Rules live in trade and models; forms put their sentences at the field."""

from dataclasses import dataclass
from fractions import Fraction

import holidays
from django import forms
from django.conf import settings
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.db import models
from django.forms.renderers import TemplatesSetting

from studio import data_folder
from studio.models import DayOff, Person, Studio
from studio.trade import timecode
from studio.trade.money import MoneyError, minor_units

WEEKDAYS = [
    (0, "Monday"), (1, "Tuesday"), (2, "Wednesday"), (3, "Thursday"),
    (4, "Friday"), (5, "Saturday"), (6, "Sunday"),
]  # fmt: skip


class HouseRenderer(TemplatesSetting):
    """Every field of every form is laid out by one template."""

    field_template_name = "parts/_field.html"


class DateInput(forms.DateInput):
    """The browser's own date picker."""

    input_type = "date"

    def __init__(self, **kwargs):
        super().__init__(format="%Y-%m-%d", **kwargs)


class DateTimeInput(forms.DateTimeInput):
    """The browser's own date and time picker, in the studio's time zone."""

    input_type = "datetime-local"

    def __init__(self, **kwargs):
        super().__init__(format="%Y-%m-%dT%H:%M", **kwargs)


@dataclass(frozen=True)
class Difference:
    """One field two people gave different values."""

    label: str
    current: object
    mine: object


class VersionedModelForm(forms.ModelForm):
    """A form that knows which version of the row its reader saw.

    `changes` is what `studio.services.save_changes` wants; it never saves by itself. Give it a row
    of its own: validating writes the typed values on the form's instance.
    """

    read_version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["read_version"].initial = self.instance.version if self.instance.pk else 0

    @property
    def version_seen(self) -> int:
        return self.cleaned_data.get("read_version") or 0

    @property
    def changes(self) -> dict:
        return {name: self.cleaned_data[name] for name in self._meta.fields}

    @property
    def compared(self) -> list[str]:
        """Names of the fields laid side by side when two people saved."""
        return list(self._meta.fields)

    def of(self, current: models.Model) -> "VersionedModelForm":
        """The same form, of the row as it now stands."""
        return type(self)(instance=current)

    def meet(self, current: models.Model) -> None:
        """Somebody else saved first: lay both versions side by side, ready to save over theirs."""
        stands = self.of(current)
        self.differences = [
            Difference(self.fields[name].label, _as_read(stands[name]), _as_read(self[name]))
            for name in self.compared
            if self.fields[name].has_changed(stands[name].initial, self[name].data)
        ]
        self.data = self.data.copy()
        self.data[self.add_prefix("read_version")] = current.version


def _as_read(bound: forms.BoundField) -> object:
    """A field's value as a person reads it: choices by their names, not their keys."""
    value = bound.value()
    if not isinstance(bound.field, forms.ChoiceField):
        return value
    names = {str(key): str(name) for key, name in bound.field.choices}
    keys = value if isinstance(value, list | tuple) else [value]
    return ", ".join(names.get(str(key), str(key)) for key in keys if key not in (None, ""))


class SignInForm(AuthenticationForm):
    """Sign-in name and password."""

    error_messages = {
        "invalid_login": "That name and password do not go together. Mind capitals and try again.",
        "inactive": "This sign-in is switched off. Ask the studio's owner.",
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"


class CodeForm(forms.Form):
    """A code from an authenticator, or a recovery code."""

    code = forms.CharField(
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True}),
        help_text="The six digits your telephone shows now.",
    )


class OwnPasswordForm(forms.Form):
    """A person's own password, changed by themselves."""

    present = forms.CharField(
        label="Present password",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    new = forms.CharField(
        label="New password",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 10 characters. A sentence is easier to keep than a riddle.",
    )

    def __init__(self, *args, person: Person, **kwargs):
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_present(self) -> str:
        if not self.person.check_password(self.cleaned_data["present"]):
            raise forms.ValidationError("That is not your present password.")
        return self.cleaned_data["present"]

    def clean_new(self) -> str:
        password_validation.validate_password(self.cleaned_data["new"], self.person)
        return self.cleaned_data["new"]


class CurrencyField(forms.CharField):
    """A currency by its three letters (ISO 4217), kept as capitals."""

    def __init__(self, **kwargs):
        kwargs.setdefault("help_text", "Three letters, as EUR.")
        super().__init__(max_length=3, **kwargs)

    def to_python(self, value) -> str:
        code = super().to_python(value).upper()
        if code in self.empty_values:
            return code
        try:
            minor_units(code)
        except MoneyError as error:
            raise forms.ValidationError(str(error)) from error
        return code


class StudioForm(VersionedModelForm):
    """The studio's profile."""

    currency = CurrencyField()
    working_weekdays = forms.TypedMultipleChoiceField(
        label="Working week",
        choices=WEEKDAYS,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one weekday: with none, nothing is ever done."},
    )

    class Meta:
        model = Studio
        fields = [
            "name", "currency", "paper", "working_weekdays", "hours_per_day", "timezone",
            "country", "region", "address", "phone", "tax_number", "payment_account",
            "odds_threshold", "circuit_volts", "circuit_amps",
        ]  # fmt: skip
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "payment_account": forms.Textarea(attrs={"rows": 3}),
        }

    def clean_country(self) -> str:
        code = self.cleaned_data["country"].strip().upper()
        if code and code not in holidays.list_supported_countries():
            raise forms.ValidationError(
                f"No holidays are known for “{code}”. Write a two-letter country code, as PL, "
                "or leave it empty."
            )
        return code

    def clean_region(self) -> str:
        country, region = self.cleaned_data.get("country"), self.cleaned_data["region"].strip()
        regions = holidays.list_supported_countries().get(country, []) if country else []
        if region and region not in regions:
            known = ", ".join(regions) or "none"
            raise forms.ValidationError(f"“{region}” is not a region there. Known: {known}.")
        return region


class FirstRunForm(StudioForm):
    """The first page of all: the code from the terminal, the studio, and its owner."""

    code = forms.CharField(
        label="One-time code", help_text="Printed in the terminal where Stillcount was started."
    )
    owner_name = forms.CharField(label="Your name", max_length=120)
    owner_sign_in_name = forms.CharField(label="Sign-in name", max_length=80)
    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 10 characters. A sentence is easier to keep than a riddle.",
    )
    password_again = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    class Meta(StudioForm.Meta):
        fields = [
            "name", "currency", "paper", "working_weekdays", "hours_per_day", "timezone",
        ]  # fmt: skip

    field_order = [
        "code", "name", "currency", "paper", "working_weekdays", "hours_per_day", "timezone",
        "owner_name", "owner_sign_in_name", "password", "password_again",
    ]  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["working_weekdays"].initial = [0, 1, 2, 3, 4]
        self.fields["timezone"].initial = "UTC"

    def clean_code(self) -> str:
        if not data_folder.first_run_code_matches(settings.DATA_DIR, self.cleaned_data["code"]):
            raise forms.ValidationError(
                "That is not the code. Look for “One-time code” in the terminal, or run "
                "`manage.py start` again to see it."
            )
        return self.cleaned_data["code"]

    def clean_password(self) -> str:
        password_validation.validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]

    def clean(self) -> dict:
        cleaned = super().clean()
        if cleaned.get("password") != cleaned.get("password_again"):
            self.add_error("password_again", "The two passwords differ. Type the same one twice.")
        return cleaned

    @property
    def owner(self) -> dict:
        """What makes the owner."""
        cleaned = self.cleaned_data
        return {
            "name": cleaned["owner_name"],
            "sign_in_name": cleaned["owner_sign_in_name"],
            "password": cleaned["password"],
        }


class PersonForm(VersionedModelForm):
    """Somebody who works here."""

    password = forms.CharField(
        label="Password",
        required=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Only to set a new one. Needs a sign-in name.",
    )

    class Meta:
        model = Person
        fields = ["name", "job", "phone", "email", "role", "sign_in_name", "is_active"]

    def clean_sign_in_name(self) -> str | None:
        name = (self.cleaned_data["sign_in_name"] or "").strip()
        taken = Person.objects.filter(sign_in_name__iexact=name).exclude(pk=self.instance.pk)
        if name and taken.exists():
            raise forms.ValidationError("Somebody else signs in under that name. Choose another.")
        return name or None

    def clean(self) -> dict:
        cleaned = super().clean()
        password = cleaned.get("password")
        if password and not cleaned.get("sign_in_name"):
            self.add_error("sign_in_name", "A password needs a sign-in name to go with it.")
        if password:
            try:
                password_validation.validate_password(password, self.instance)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned


class ListRowForm(forms.ModelForm):
    """One of several rows edited on one page. Each field carries what its reader saw.

    Only what the reader changed is written, and not over what somebody else wrote meanwhile: that
    is shown, and written on the second try.
    """

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in self._meta.fields:
            self.fields[name].show_hidden_initial = True

    def clean(self) -> dict:
        cleaned = super().clean()
        for name in self._meta.fields if self.instance.pk else []:
            stands = self.fields[name].to_python(self.initial[name])
            if name not in self.changed_data:
                cleaned[name] = stands
            elif stands not in (self._seen(name, stands), cleaned.get(name)):
                self.data = self.data.copy()
                self.data[self.add_initial_prefix(name)] = self.initial[name]
                said = f"Somebody wrote {stands} here meanwhile. Save again to write yours over it."
                self.add_error(name, said)
        return cleaned

    def _seen(self, name: str, stands):
        """What the reader saw; a page that does not say saw what stands."""
        seen = self.data.get(self.add_initial_prefix(name))
        return stands if seen is None else self.fields[name].to_python(seen)


class DayOffForm(forms.ModelForm):
    """Days on which the studio does not shoot."""

    class Meta:
        model = DayOff
        fields = ["first", "last", "label"]
        widgets = {"first": DateInput(), "last": DateInput()}

    def clean(self) -> dict:
        cleaned = super().clean()
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day is before the first. Swap them, or correct one.")
        if first and last and (last - first).days > 366:
            self.add_error("last", "More than a year off in one go. Enter it in parts.")
        return cleaned


class RateField(forms.CharField):
    """A frame rate: picked from the common ones or typed, as 24, 12.5, 23.976 or 24000/1001."""

    def __init__(self, **kwargs):
        attrs = {"list": "common-rates", "inputmode": "decimal", "autocomplete": "off"}
        kwargs.setdefault("help_text", "As 24, 12.5, 23.976, or a fraction as 24000/1001.")
        super().__init__(widget=forms.TextInput(attrs=attrs), **kwargs)

    def prepare_value(self, value):
        return timecode.rate_label(value) if isinstance(value, Fraction) else value

    def to_python(self, value) -> Fraction | None:
        text = super().to_python(value)
        if text in self.empty_values:
            return None
        try:
            return timecode.parse_rate(text)
        except timecode.RateError as error:
            raise forms.ValidationError(str(error)) from error


class LengthField(forms.CharField):
    """A length as people say it (4.5 s, 108 f, 4s06f, timecode), kept as whole frames.

    The form sets `rate` before it validates. `least` is the fewest frames allowed.
    """

    def __init__(self, *, least: int = 1, rate: Fraction | None = None, **kwargs):
        self.rate, self.least = rate, least
        kwargs.setdefault("help_text", "As 4.5 (seconds), 108 f, 4s06f or 00:00:04:06.")
        super().__init__(widget=forms.TextInput(attrs={"autocomplete": "off"}), **kwargs)

    def prepare_value(self, value):
        if isinstance(value, int) and self.rate:
            return timecode.seconds_and_frames(value, self.rate)
        return value

    def to_python(self, value) -> int | None:
        text = super().to_python(value)
        if text in self.empty_values:
            return None
        if self.rate is None:
            raise forms.ValidationError("Give a frame rate first: a length is counted in frames.")
        if self.least == 0 and text.strip().rstrip("f ").strip() == "0":
            return 0
        try:
            return timecode.parse_length(text, self.rate)
        except timecode.LengthError as error:
            raise forms.ValidationError(str(error)) from error

    def has_changed(self, initial, data) -> bool:
        try:
            return initial != self.to_python(data)
        except forms.ValidationError:
            return True

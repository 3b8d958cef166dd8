"""Forms of a quote: its start, the builder, the answers to it, and the lines in stock."""

from decimal import Decimal

from django import forms

from clients.forms.quote_sheet import MOST_ROWS, Sheet, sheet_of, typed_sheet
from clients.models import Client, DayRate, LineTemplate, Quote
from clients.queries import quotes as queries
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.from_list import listed_film, sequences_from
from clients.trade.quoting.option import Option, Sequence
from shots.forms.shot import ShotListForm
from shots.models import Difficulty
from shots.trade.shot_list import ListError
from studio.forms import CurrencyField, DateInput, ListRowForm, RateField, VersionedModelForm


class NewQuoteForm(ShotListForm):
    """A quote from a length, a shot list pasted or as a file, or another quote."""

    client = forms.ModelChoiceField(queryset=None, empty_label="Choose a client")
    title = forms.CharField(label="Title of the film", max_length=200)
    day_rate = forms.DecimalField(
        label="Your day rate",
        min_value=Decimal("0.01"),
        max_digits=14,
        decimal_places=4,
        help_text="Before tax. Kept for the next quote.",
    )
    tax_rate = forms.DecimalField(
        label="Tax, per cent",
        min_value=0,
        max_value=100,
        max_digits=5,
        decimal_places=2,
        initial=0,
        help_text="0 where your tax law asks for none. Each line can have its own.",
    )
    first_day = forms.DateField(
        label="First shooting day", required=False, widget=DateInput(),
        help_text="Without it the quote promises days, and no date.",
    )  # fmt: skip
    rate = RateField(label="Frame rate", initial="24")
    seconds = forms.DecimalField(
        label="Length, seconds", required=False, max_digits=7, decimal_places=2, initial=30,
        min_value=Decimal("0.01"),
    )  # fmt: skip
    exposure = forms.IntegerField(
        min_value=1, max_value=24, initial=2,
        help_text="Frames each picture is held for: 1 for ones, 2 for twos.",
    )  # fmt: skip
    difficulty = forms.ModelChoiceField(queryset=None, empty_label=None)
    setups = forms.IntegerField(label="Set-ups", min_value=0, max_value=500, initial=3)
    copy_of = forms.ModelChoiceField(
        queryset=None, required=False, label="Copy of", empty_label="No copy",
        help_text="Everything but number, client and title. It takes the place of length and list.",
    )  # fmt: skip

    HEAD = ("client", "title", "day_rate", "tax_rate", "first_day")
    LENGTH = ("rate", "seconds", "exposure", "difficulty", "setups")
    LIST = ("pasted", "file", "encoding")
    FAULTS_SHOWN = 20

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["client"].queryset = Client.objects.current()
        difficulties = list(Difficulty.objects.all())
        self.fields["difficulty"].queryset = Difficulty.objects.all()
        if difficulties:
            self.fields["difficulty"].initial = difficulties[len(difficulties) // 2]
        self.fields["copy_of"].queryset = Quote.objects.current().select_related("client")

    @property
    def head_fields(self):
        return [self[name] for name in self.HEAD]

    @property
    def length_fields(self):
        return [self[name] for name in self.LENGTH]

    @property
    def list_fields(self):
        return [self[name] for name in self.LIST]

    @property
    def has_list(self) -> bool:
        """Whether a list was given, so that its entries stand open."""
        return bool(self.is_bound and (self["pasted"].value() or self["file"].errors))

    def clean(self) -> dict:
        """`option` is what the length or the list comes to; None for a copy."""
        cleaned = super().clean()
        cleaned["option"] = None
        if self.errors or cleaned.get("copy_of"):
            return cleaned
        listed = bool(cleaned["text"].strip())
        try:
            sequences = self._from_list() if listed else self._from_length()
            cleaned["option"] = Option("The film", cleaned["rate"], sequences)
        except (QuoteError, ListError) as error:
            self._refuse(str(error).splitlines(), listed)
        return cleaned

    def _refuse(self, sentences: list[str], listed: bool) -> None:
        """Say what is wrong; a file stands in the entry then, to be corrected there."""
        self.add_error("pasted" if listed else "seconds", sentences)
        if listed and self.cleaned_data.get("file"):
            self.data = self.data.copy()
            self.data["pasted"] = self.cleaned_data["text"]

    def _from_list(self) -> tuple[Sequence, ...]:
        cleaned = self.cleaned_data
        listed = listed_film(
            cleaned["text"],
            cleaned["rate"],
            cleaned["exposure"],
            [row.name for row in self.fields["difficulty"].queryset],
            cleaned["difficulty"].name,
        )
        if listed.faults:
            more = len(listed.faults) - self.FAULTS_SHOWN
            shown = [*listed.faults[: self.FAULTS_SHOWN], f"And {more:,} rows more."]
            raise ListError("\n".join(shown if more > 0 else listed.faults))
        sequences = sequences_from(listed.shots, cleaned["rate"])
        if len(sequences) > MOST_ROWS:
            raise QuoteError(
                "sequences",
                f"The list comes to {len(sequences):,} sequences, one for each set-up, difficulty "
                f"and exposure; a quote holds {MOST_ROWS}. Name fewer set-ups.",
            )
        return sequences

    def _from_length(self) -> tuple[Sequence, ...]:
        cleaned = self.cleaned_data
        if cleaned.get("seconds") is None:
            raise QuoteError("seconds", "How long is the film? Write seconds, as 30.")
        film = Sequence(
            "The film",
            cleaned["seconds"],
            cleaned["exposure"],
            cleaned["difficulty"].name,
            setups=cleaned["setups"],
        )
        film.length(cleaned["rate"])
        return (film,)


class QuoteForm(VersionedModelForm):
    """What holds for the whole quote."""

    currency = CurrencyField()

    class Meta:
        model = Quote
        fields = [
            "client", "title", "film", "first_day", "confidence", "currency", "tax_rate",
            "language", "valid_days", "revision_rounds", "included", "tax_note",
        ]  # fmt: skip
        widgets = {
            "first_day": DateInput(),
            "included": forms.Textarea(attrs={"rows": 3}),
        }

    HEAD = ("client", "title", "film", "first_day", "confidence")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        here = Client.objects.filter(pk=self.instance.client_id)
        self.fields["client"].queryset = Client.objects.current() | here
        self.fields["client"].empty_label = None

    @property
    def head_fields(self):
        return [self[name] for name in self.HEAD]

    @property
    def term_fields(self):
        return [self[name] for name in self._meta.fields if name not in self.HEAD]


class Builder:
    """The whole builder page: the form of the quote, and the sheet of its rows."""

    def __init__(self, quote: Quote, data=None):
        self.quote = quote
        difficulties = [row.name for row in Difficulty.objects.all()]
        self.form = QuoteForm(data, instance=quote)
        self.sheet: Sheet = (
            sheet_of(queries.draft_of(quote), difficulties)
            if data is None
            else typed_sheet(data, difficulties)
        )

    @property
    def entries(self) -> dict[str, str]:
        """Every entry of the page by its name, as text: what `data` may be again."""
        of_form = {field.html_name: field.value() for field in self.form}
        return self.sheet.entries | {
            name: "" if value is None else str(value) for name, value in of_form.items()
        }

    def is_valid(self) -> bool:
        # Every part says what is wrong with it, not only the first.
        valid = [self.form.is_valid(), self.sheet.read()]
        return all(valid)

    @property
    def faults(self) -> list[tuple[str, str]]:
        """(address of the entry, sentence) of everything that is wrong."""
        of_form = [
            (f"id_{name}", f"{self.form.fields[name].label}: {error}")
            for name, errors in self.form.errors.items()
            if name in self.form.fields
            for error in errors
        ]
        return of_form + self.sheet.faults

    def draft(self) -> Draft:
        """What is typed, ready to be priced. Only for a valid builder."""
        cleaned = self.form.cleaned_data
        return self.sheet.draft(
            cleaned["currency"], cleaned["confidence"] / 100, cleaned["revision_rounds"]
        )

    def act(self, act: str, wanted_line: str, stock: queries.Stock) -> None:
        """What a button of the page does to what is typed. Nothing is saved."""
        self.form.is_valid()
        tax = self.form.cleaned_data.get("tax_rate") or Decimal(0)
        verb, _, place = act.partition(":")
        sheet = self.sheet
        acts = {
            "sequence": lambda: sheet.add_sequence(place),
            "option": sheet.add_option,
            "line": lambda: sheet.add_line(wanted_line, stock, tax),
            "payment": sheet.add_payment,
            "tax": lambda: sheet.tax_all(tax),
            "copy": lambda: sheet.copy(place),
            "drop": lambda: sheet.drop(place),
            "up": lambda: sheet.move(place, -1),
            "down": lambda: sheet.move(place, 1),
        }
        if verb in acts:
            acts[verb]()
        sheet.number()


class BudgetForm(forms.Form):
    """What fits this budget?"""

    budget = forms.DecimalField(
        label="Budget before tax", min_value=Decimal("0.001"), max_digits=14, decimal_places=4
    )
    seconds_per_setup = forms.DecimalField(
        label="Seconds in a set-up", min_value=Decimal("0.1"), max_value=600, initial=5
    )


class AcceptForm(forms.Form):
    """The client says yes."""

    option = forms.ModelChoiceField(queryset=None, widget=forms.RadioSelect, empty_label=None)
    name = forms.CharField(label="Your name", max_length=120)
    agreed = forms.BooleanField(
        label="I accept this quote as it is described here",
        error_messages={"required": "Tick this if you accept the quote."},
    )

    def __init__(self, *args, quote: Quote, **kwargs):
        super().__init__(*args, **kwargs)
        options = quote.options.all()
        self.fields["option"].queryset = options
        if len(options) == 1:
            self.fields["option"].initial = options[0]


def as_noted(form: forms.Form) -> forms.Form:
    """The client's acceptance, as the owner notes it for them."""
    form.fields["name"].label = "Who accepted"
    form.fields["agreed"].label = "They accepted it exactly as it is described here"
    return form


class DeclineForm(forms.Form):
    """The client says no."""

    words = forms.CharField(
        label="What speaks against it?",
        required=False,
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    @property
    def said(self) -> str:
        """What the client gave as the reason, if anything: a no needs none."""
        return self.cleaned_data["words"] if self.is_valid() else ""


DayRateFormSet = forms.modelformset_factory(
    DayRate, form=ListRowForm, fields=["person", "rate"], extra=1, can_delete=True
)
LineTemplateFormSet = forms.modelformset_factory(
    LineTemplate,
    form=ListRowForm,
    fields=["label", "rate", "tax_rate", "usual"],
    extra=0,
    can_delete=True,
)

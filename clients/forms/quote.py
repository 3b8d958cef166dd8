"""Forms of the quote builder: the quote, its options with their sequences, lines and payments."""

from decimal import Decimal

from django import forms

from clients.models import (
    Client,
    Quote,
    QuoteLine,
    QuoteOption,
    QuotePayment,
    QuoteSequence,
)
from clients.queries.quotes import line_of, sequence_of
from clients.trade.payment import PaymentPart
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Line
from clients.trade.quoting.option import Option
from studio.forms import CurrencyField, DateInput, RateField, VersionedModelForm

# Where the trade's names for an entry and the form's differ.
_FIELD_OF = {"licence": "territory", "of": "rate"}


class NewQuoteForm(forms.Form):
    """Whom a new quote is for, and what it is called."""

    client = forms.ModelChoiceField(queryset=None, empty_label="Choose a client")
    title = forms.CharField(label="Title of the film", max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["client"].queryset = Client.objects.current()


class QuoteForm(VersionedModelForm):
    """What holds for the whole quote."""

    currency = CurrencyField()

    class Meta:
        model = Quote
        fields = [
            "title", "film", "currency", "language", "confidence", "first_day", "valid_days",
            "revision_rounds", "included", "tax_note",
        ]  # fmt: skip
        widgets = {
            "first_day": DateInput(),
            "included": forms.Textarea(attrs={"rows": 3}),
        }


class OptionForm(forms.ModelForm):
    """One way of making the film."""

    rate = RateField(label="Frame rate", help_text="")

    class Meta:
        model = QuoteOption
        fields = ["label", "rate", "runtime"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial["rate"] = self.instance.rate

    def clean(self) -> dict:
        cleaned = super().clean()
        if rate := cleaned.get("rate"):
            self.instance.rate_numerator = rate.numerator
            self.instance.rate_denominator = rate.denominator
        return cleaned


class _PartForm(forms.ModelForm):
    """A row of the builder that trade judges: its sentence lands at the field it names.

    Each kind of row says in `judge` how its cleaned values become the trade's object.
    """

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors and not cleaned.get("DELETE"):
            try:
                self.judged = self.judge(cleaned)
            except QuoteError as error:
                field = _FIELD_OF.get(error.field, error.field)
                self.add_error(field if field in self.fields else None, error.sentence)
        return cleaned


class SequenceForm(_PartForm):
    """A run of shots quoted as one."""

    class Meta:
        model = QuoteSequence
        fields = [
            "label", "seconds", "exposure", "difficulty", "held_seconds", "holds",
            "reused_seconds", "setups", "characters",
        ]  # fmt: skip

    def judge(self, values: dict):
        return sequence_of(values | {"difficulty": values["difficulty"].name})


class LineForm(_PartForm):
    """A price line."""

    class Meta:
        model = QuoteLine
        fields = [
            "label", "kind", "basis", "rate", "quantity", "pictures_per_hour", "tax_rate",
            "hidden", "optional", "territory", "media", "term",
        ]  # fmt: skip

    def judge(self, values: dict) -> Line:
        return line_of(values)


class PaymentForm(_PartForm):
    """A part of the payment plan."""

    class Meta:
        model = QuotePayment
        fields = ["milestone", "percent", "amount"]

    def judge(self, values: dict) -> PaymentPart:
        return PaymentPart(values["milestone"], values["percent"], values["amount"])


OptionFormSet = forms.inlineformset_factory(
    Quote, QuoteOption, OptionForm, extra=0, can_delete=False
)
SequenceFormSet = forms.inlineformset_factory(QuoteOption, QuoteSequence, SequenceForm, extra=1)
LineFormSet = forms.inlineformset_factory(Quote, QuoteLine, LineForm, extra=2)
PaymentFormSet = forms.inlineformset_factory(Quote, QuotePayment, PaymentForm, extra=1)


class Builder:
    """The whole builder page: one form and its formsets, validated together."""

    def __init__(self, quote: Quote, data=None):
        self.quote = quote
        self.form = QuoteForm(data, instance=quote)
        self.options = OptionFormSet(data, instance=quote, prefix="option")
        for form in self.options.forms:
            form.sequences = SequenceFormSet(
                data, instance=form.instance, prefix=f"sequence{form.instance.pk}"
            )
        self.lines = LineFormSet(data, instance=quote, prefix="line")
        self.payments = PaymentFormSet(data, instance=quote, prefix="payment")

    @property
    def parts(self) -> list:
        """The formsets, in the order they are saved."""
        sequences = [form.sequences for form in self.options.forms]
        return [self.options, *sequences, self.lines, self.payments]

    def is_valid(self) -> bool:
        # Every part says what is wrong with it, not only the first.
        valid = [self.form.is_valid(), *(part.is_valid() for part in self.parts)]
        return all(valid) and min(map(_lengths_fit, self.options.forms))

    @property
    def faults(self) -> int:
        """How many fields need a correction."""
        forms_of = [self.form, *(form for part in self.parts for form in part.forms)]
        return sum(len(form.errors) for form in forms_of)

    def draft(self) -> Draft:
        """What is typed, ready to be priced. Raises QuoteError. Only for a valid builder."""
        cleaned = self.form.cleaned_data
        return Draft(
            options=tuple(
                Option(
                    label=form.cleaned_data["label"],
                    rate=form.cleaned_data["rate"],
                    runtime=form.cleaned_data["runtime"],
                    sequences=tuple(_judged(form.sequences)),
                )
                for form in self.options.forms
            ),
            lines=tuple(_judged(self.lines)),
            payments=tuple(_judged(self.payments)),
            currency=cleaned["currency"],
            confidence=cleaned["confidence"] / 100,
            revision_rounds=cleaned["revision_rounds"],
        )


def _lengths_fit(option: OptionForm) -> bool:
    """Whether every sequence can be at the option's frame rate; says at its field where not."""
    fit = True
    for form in option.sequences.forms:
        if not hasattr(form, "judged"):
            continue
        try:
            form.judged.length(option.cleaned_data["rate"])
        except QuoteError as error:
            form.add_error(error.field if error.field in form.fields else None, error.sentence)
            fit = False
    return fit


def _judged(formset) -> list:
    """What trade made of the rows that are filled in and stay."""
    return [
        form.judged
        for form in formset.forms
        if hasattr(form, "judged") and (form.has_changed() or form.instance.pk)
    ]


class BudgetForm(forms.Form):
    """What fits this budget?"""

    budget = forms.DecimalField(
        label="Budget before tax", min_value=Decimal("0.001"), max_digits=14
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

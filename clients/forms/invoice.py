"""Forms of an invoice: a new one, the draft and its lines, its date, a credit, a payment."""

from django import forms

from clients.forms.quote_rows import plain
from clients.models import Client, Invoice
from clients.trade.invoice import invoice_line
from clients.trade.quoting.errors import QuoteError
from shots.models import Production
from studio.forms import DateInput, VersionedModelForm

MOST_LINES = 200


class NewInvoiceForm(forms.Form):
    """An invoice of its own lines."""

    client = forms.ModelChoiceField(queryset=None, empty_label="Choose a client")
    production = forms.ModelChoiceField(
        queryset=None, required=False, empty_label="For no production"
    )
    title = forms.CharField(label="What for", max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["client"].queryset = Client.objects.current()
        self.fields["production"].queryset = Production.objects.current()


class InvoiceForm(VersionedModelForm):
    """A draft's words and terms."""

    class Meta:
        model = Invoice
        fields = ["title", "supplied", "terms_days", "language", "how_to_pay", "tax_note"]
        widgets = {"how_to_pay": forms.Textarea(attrs={"rows": 3})}


class CreditForm(VersionedModelForm):
    """A draft credit note's sum and words."""

    class Meta:
        model = Invoice
        fields = ["credit_amount", "reason", "title", "language", "tax_note"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["credit_amount"].min_value = 0


class InvoiceLineForm(forms.Form):
    """A line of an invoice's own: quantity times price."""

    label = forms.CharField(label="What", max_length=120)
    quantity = forms.DecimalField(max_digits=11, decimal_places=3)
    price = forms.DecimalField(label="Price before tax", max_digits=15, decimal_places=4)
    tax_rate = forms.DecimalField(label="Tax %", max_digits=5, decimal_places=2)

    def __init__(self, *args, currency: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.currency = currency

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors:
            row = {name: cleaned[name] for name in ("label", "quantity", "price", "tax_rate")}
            try:
                invoice_line(currency=self.currency, **row)
            except QuoteError as error:
                self.add_error(error.field, error.sentence)
        return cleaned


LineFormSet = forms.formset_factory(
    InvoiceLineForm, extra=2, can_delete=True, max_num=MOST_LINES, validate_max=True
)


def lines_of(invoice: Invoice, data=None) -> forms.BaseFormSet:
    """The lines of a draft as a table of entries, with two empty ones below."""
    stored = [
        {
            "label": row.label,
            "quantity": plain(row.quantity),
            "price": plain(row.price),
            "tax_rate": plain(row.tax_rate),
        }
        for row in invoice.lines.all()
    ]
    return LineFormSet(
        data, prefix="line", initial=stored, form_kwargs={"currency": invoice.currency}
    )


def typed_lines(formset: forms.BaseFormSet) -> list[dict]:
    """The lines of a valid table that are filled in and not taken out."""
    names = ("label", "quantity", "price", "tax_rate")
    return [
        {name: row.cleaned_data[name] for name in names}
        for row in formset.forms
        if row.cleaned_data.get("label") and not row.cleaned_data.get("DELETE")
    ]


class IssueForm(forms.Form):
    """The date an invoice carries."""

    issued_on = forms.DateField(label="Its date", widget=DateInput())


class NewCreditForm(forms.Form):
    """Credit an invoice, in part or whole."""

    amount = forms.DecimalField(
        label="Sum with tax",
        required=False,
        max_digits=15,
        decimal_places=4,
        help_text="Left open, all that is left of the invoice.",
    )
    reason = forms.CharField(label="Why", max_length=300)


class PaymentForm(forms.Form):
    """Money that came in, or was paid back."""

    amount = forms.DecimalField(label="Sum", max_digits=15, decimal_places=4)
    paid_on = forms.DateField(label="Day", widget=DateInput())
    note = forms.CharField(max_length=200, required=False)

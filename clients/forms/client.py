"""Forms of a client, the people there, and whom a production is made for."""

from django import forms
from django.db.models import Q

from clients.models import Client, Contact
from clients.queries.clients import unlinked_productions
from studio.forms import CurrencyField, VersionedModelForm


class ClientForm(VersionedModelForm):
    """A client's details."""

    currency = CurrencyField(help_text="Three letters, as EUR. What they are quoted and billed in.")

    class Meta:
        model = Client
        fields = ["name", "currency", "payment_days", "address", "tax_number", "notes"]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "notes": forms.Textarea(attrs={"rows": 4}),
        }
        error_messages = {
            "payment_days": {
                "invalid": "Payment terms are whole days. Write 30 for a month.",
                "min_value": "Payment terms cannot be negative. Write 0 for at once.",
                "max_value": "Payment terms stop at 365 days. Write fewer.",
            }
        }


class ContactForm(VersionedModelForm):
    """A person at a client's."""

    class Meta:
        model = Contact
        fields = ["name", "job", "email", "phone"]


class LinkForm(forms.Form):
    """An open production that is to belong to a client."""

    production = forms.ModelChoiceField(
        queryset=None,
        label="Production without a client",
        empty_label="Choose one",
        error_messages={
            "required": "Choose the production first.",
            "invalid_choice": "That one has a client by now, or was archived. Choose another.",
        },
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["production"].queryset = unlinked_productions()


class CommissionForm(forms.Form):
    """Whom a production is made for."""

    client = forms.ModelChoiceField(
        queryset=None,
        required=False,
        empty_label="No client yet",
        error_messages={"invalid_choice": "That client was archived. Choose another."},
    )

    def __init__(self, *args, stands: Client | None, **kwargs):
        super().__init__(*args, initial={"client": stands}, **kwargs)
        here = Q(archived_at=None) | Q(pk=stands.pk if stands else None)
        self.fields["client"].queryset = Client.objects.filter(here)

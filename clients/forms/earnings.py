"""The account of a production: hours off the set, and what its lines really cost."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from clients.forms.quote_rows import plain
from clients.models import FilmAccount
from clients.trade.earnings import CostLine
from studio.forms import VersionedModelForm
from studio.trade.money import quantize

MORE_ROWS = 3  # empty rows for what nobody quoted


def _amount_field(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, min_value=0, max_digits=14, decimal_places=4
    )


class AccountForm(VersionedModelForm):
    """What a production took beside its sessions. What is left empty counts as quoted.

    `actual_costs` are the amounts typed, by label.
    """

    class Meta:
        model = FilmAccount
        fields = ["hours_off_set"]

    def __init__(self, *args, costs: Sequence[CostLine], currency: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.currency = currency
        self.costs = costs
        self.quoted = [line for line in costs if line.quoted is not None]
        for n, line in enumerate(self.quoted):
            self.fields[f"cost{n}"] = _amount_field(line.label)
            self.initial[f"cost{n}"] = plain(line.actual)
        unquoted = [line for line in costs if line.quoted is None]
        self.more = range(len(unquoted) + MORE_ROWS)
        for n in self.more:
            self.fields[f"label{n}"] = forms.CharField(
                label="What else was paid for", max_length=120, required=False
            )
            self.fields[f"more{n}"] = _amount_field("What it cost")
        for n, line in enumerate(unquoted):
            self.initial |= {f"label{n}": line.label, f"more{n}": plain(line.actual)}

    def of(self, current: FilmAccount) -> "AccountForm":
        return type(self)(instance=current, costs=self.costs, currency=self.currency)

    @property
    def compared(self) -> list[str]:
        return [name for name in self.fields if name != "read_version"]

    @property
    def quoted_rows(self):
        """Each line of the quote with the entry of what it cost."""
        return [(line, self[f"cost{n}"]) for n, line in enumerate(self.quoted)]

    @property
    def more_rows(self):
        """Entries for what nobody quoted."""
        return [(self[f"label{n}"], self[f"more{n}"]) for n in self.more]

    def clean(self) -> dict:
        cleaned = super().clean()
        self.actual_costs: dict[str, Decimal] = {}
        for n, line in enumerate(self.quoted):
            self._take(line.label, f"cost{n}")
        for n in self.more:
            label, amount = cleaned.get(f"label{n}"), cleaned.get(f"more{n}")
            if label and amount is None and f"more{n}" not in self.errors:
                self.add_error(f"more{n}", f"How much was “{label}”? Write an amount, 0 included.")
            elif amount is not None and not label:
                self.add_error(f"label{n}", f"What were the {amount} for? Write a word or two.")
            elif label in [line.label for line in self.quoted] or label in self.actual_costs:
                self.add_error(f"label{n}", f"“{label}” stands here already: add the amounts up.")
            elif label:
                self._take(label, f"more{n}")
        return cleaned

    def _take(self, label: str, name: str) -> None:
        """Keep an amount that was typed, or say that the currency has no such coins."""
        amount = self.cleaned_data.get(name)
        if amount is None:
            return
        whole = quantize(amount, self.currency)
        if whole != amount:
            self.add_error(
                name, f"{amount} is finer than the coins of {self.currency}: write {whole}."
            )
        self.actual_costs[label] = whole

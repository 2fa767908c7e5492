"""The receive form: the paper that came with the goods, and a row for each kind of goods."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from inventory.actions.receive import Delivered
from inventory.forms.amounts import Amount, read_amount
from inventory.forms.fields import (
    MASS_UNITS,
    VOLUME_UNITS,
    PercentField,
    choice,
    day,
    goods,
    places,
    strength,
    suppliers,
    words,
)
from inventory.ledger import Strength
from workshop.fields import QuantityField
from workshop.web import ActForm

ROWS = 3
MOST_ROWS = 30


class LineForm(forms.Form):
    """One kind of goods in the delivery. A row left empty counts for nothing."""

    material = choice("Goods", goods(), none="Nothing in this row", required=False)
    amount = QuantityField(
        label="Amount",
        units=["count", *MASS_UNITS, *VOLUME_UNITS],
        required=False,
        help_text="A number with its unit: 500 g, 1.5 kg, 5 L. Bottles and the like: only the number.",
    )
    place = choice("Put at", places(), required=False)
    abv = strength(required=False)
    celsius = QuantityField(
        label="Temperature", units=["°C", "°F"], low=-20, high=40, required=False, help_text="Of a volume."
    )
    moisture = PercentField(label="Moisture", high=99.9, required=False)
    supplier_lot = words("Supplier's lot", 60, required=False)
    best_before = day("Best before", required=False)

    def is_empty(self) -> bool:
        """Nothing typed; a place alone is no line."""
        typed = (self.data.get(self.add_prefix(name), "") for name in self.fields if name != "place")
        return not any(str(value).strip() for value in typed)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = self.cleaned_data
        for name, sentence in NEEDED.items():
            if name not in self.errors and not given.get(name):
                self.add_error(name, sentence)
        if not self.errors:
            self.read = read_amount(self, given)
        return given

    def delivered(self) -> Delivered:
        """The line as the action takes it."""
        given, amount = self.cleaned_data, self.read
        return Delivered(
            material=given["material"],
            amount=amount.stock,
            place=given["place"],
            supplier_lot=given["supplier_lot"].strip(),
            best_before=given["best_before"],
            moisture=fraction(given["moisture"]),
            strength=stated(amount),
            pure_ml=amount.pure_ml,
            as_entered=amount.as_entered,
        )


NEEDED = {
    "material": "Goods: choose what this amount is of.",
    "amount": "Amount: write how much came.",
    "place": "Put at: choose where it stands now.",
}


def fraction(typed: Any) -> float | None:
    return None if typed is None else float(typed.base / Decimal(100))


def stated(amount: Amount) -> Strength | None:
    if amount.abv is None and amount.density_20 is None:
        return None
    return Strength(amount.abv, "stated", density_20=amount.density_20)


def typed_strength(typed: Any) -> Strength | None:
    """A strength that came without an amount."""
    return None if typed is None else Strength(float(typed.base), "stated")


class DeliveryForm(ActForm):
    """The whole delivery. `rows` says how many lines are shown; "Another line" adds one.

    `typed` refills an unbound form with what was typed so far, unread and unjudged.
    """

    supplier = choice("Supplier", suppliers(), none="Not in the list", required=False)
    new_supplier = words("Or a new supplier", 120, required=False)
    arrived_on = day("Arrived on")
    delivery_note = words("Delivery note", 60, required=False)
    rows = forms.CharField(widget=forms.HiddenInput, initial=str(ROWS), required=False)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        today: date,
        typed: Mapping[str, Any] | None = None,
        more: int = 0,
    ) -> None:
        super().__init__(data, initial={"arrived_on": today} | dict((typed or {}).items()))
        self.count = min(MOST_ROWS, _whole(data or typed, "rows", ROWS) + more)
        self.initial["rows"] = str(self.count)
        self.lines = [_line(data, typed, f"line{n}") for n in range(self.count)]
        _share_choices(self.lines)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        self.filled = [line for line in self.lines if not line.is_empty()]
        if not self.filled:
            self.add_error(None, "Nothing was received yet: fill in at least one line.")
        wrong = [n for n, line in enumerate(self.lines, 1) if line in self.filled and not line.is_valid()]
        if wrong:
            numbers = " and ".join(str(n) for n in wrong)
            self.add_error(None, f"Look again at line {numbers}; nothing was saved yet.")
        return given

    def delivered(self) -> list[Delivered]:
        """The filled lines, as the action takes them."""
        return [line.delivered() for line in self.filled]


def _line(data: Mapping[str, Any] | None, typed: Mapping[str, Any] | None, prefix: str) -> LineForm:
    """One row, bound to the data of its prefix, or refilled with what was typed."""
    start = len(prefix) + 1
    kept = {name[start:]: value for name, value in (typed or {}).items() if name.startswith(f"{prefix}-")}
    return LineForm(data, prefix=prefix, initial=kept, use_required_attribute=False)


def _share_choices(lines: list[LineForm]) -> None:
    """The lists of goods and places are read once, not once for every row."""
    for name in ("material", "place"):
        shared = list(lines[0].fields[name].choices)  # type: ignore[attr-defined]
        for line in lines:
            line.fields[name].widget.choices = shared  # type: ignore[attr-defined]


def _whole(data: Mapping[str, Any] | None, name: str, otherwise: int) -> int:
    text = str((data or {}).get(name, ""))
    return max(1, int(text)) if text.isascii() and text.isdigit() and len(text) < 4 else otherwise

"""What may be done with one lot: count, move, write off, measure; and adopting one."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.actions.write_off import CAUSES
from inventory.forms.amounts import Amount, read_amount
from inventory.forms.fields import (
    MASS_UNITS,
    AmountField,
    choice,
    day,
    goods,
    places,
    share,
    strength,
    words,
)
from inventory.models import Lot
from inventory.queries.lots import holdings
from workshop.calc.units import Quantity
from workshop.fields import QuantityField
from workshop.web import ActForm


def amount_field(lot: Lot, label: str, **options: Any) -> QuantityField:
    """An amount of this lot: whole units, or grams first."""
    units = ["count"] if lot.material.counted else list(MASS_UNITS)
    return QuantityField(label=label, units=units, **options)


def kept(typed: Quantity | None) -> dict[str, Any]:
    """What was typed, for good."""
    return (
        {} if typed is None else {"value": str(typed.value), "unit": typed.unit, "text": typed.text.strip()}
    )


class LotForm(ActForm):
    """A form about one lot."""

    def __init__(self, data: Any = None, *, lot: Lot, **options: Any) -> None:
        super().__init__(data, **options)
        self.lot = lot
        self.held = [held.place for held in holdings(lot)]
        self.shape()

    def shape(self) -> None:
        """Fit the fields to the lot."""

    def put(self, name: str, label: str, **options: Any) -> None:
        """The amount field in its place, in this lot's measure."""
        self.fields[name] = amount_field(self.lot, label, **options)

    def only_where_it_is(self, name: str) -> None:
        """Offer the places where the lot is; one place needs no choice."""
        field = self.fields[name]
        field.queryset = places().filter(pk__in=[place.pk for place in self.held])  # type: ignore[attr-defined]
        if len(self.held) == 1:
            self.initial.setdefault(name, self.held[0].pk)


class MoveForm(LotForm):
    """From where to where, and how much."""

    from_place = choice("From", places())
    to_place = choice("To", places())

    def shape(self) -> None:
        self.put("amount", "Amount")
        self.only_where_it_is("from_place")


class CountForm(LotForm):
    """What was counted. The book's own number is not shown: a count is blind."""

    place = choice("Counted at", places())
    reason = words("Reason", 300, required=False, may="if the book differs")

    def shape(self) -> None:
        self.put("counted", "Counted")
        self.order_fields(["place", "counted", "reason"])
        if len(self.held) == 1:
            self.initial.setdefault("place", self.held[0].pk)


class WriteOffForm(LotForm):
    """What went, and how."""

    place = choice("At", places())
    cause = forms.ChoiceField(
        label="What happened",
        choices=list(CAUSES.items()),
        widget=forms.RadioSelect,
        error_messages={"required": "What happened: choose one."},
    )
    reason = words("More about it", 300, required=False, may="if there is more to say")

    def shape(self) -> None:
        self.put(
            "amount",
            "Amount",
            required=False,
            help_text="Leave it empty for all that the book says is there.",
        )
        self.order_fields(["place", "amount", "cause", "reason"])
        self.only_where_it_is("place")


class MeasureForm(LotForm):
    """A strength or a density at 20 °C."""

    abv = strength("Strength at 20 °C", required=False)
    u = strength("Give or take", required=False)
    density_20 = QuantityField(
        label="Density at 20 °C", units=["kg/m³", "g/mL"], low=100, high=3000, required=False
    )
    basis = forms.ChoiceField(
        label="Measured by", choices=[(Lot.Basis.MEASURED, "us"), (Lot.Basis.LABORATORY, "a laboratory")]
    )
    reason = words("How it was measured", 300, required=False, may="instrument, temperature")

    def numbers(self) -> dict[str, float | None]:
        """Strength, its uncertainty and density as floats."""
        given = self.cleaned_data
        return {
            name: None if given[name] is None else float(given[name].base)
            for name in ("abv", "u", "density_20")
        }

    def typed(self) -> dict[str, str]:
        """What was typed, for good."""
        return {
            name: self.cleaned_data[name].text.strip()
            for name in ("abv", "u", "density_20")
            if self.cleaned_data[name]
        }


class AdoptForm(ActForm):
    """What stands on the shelf already. Only goods and place are needed."""

    material = choice("Goods", goods())
    place = choice("It stands at", places())
    amount = AmountField(
        required=False,
        help_text="With its unit: 500 g, 1.5 kg, 5 L. Leave it empty if it is not known; count it later.",
    )
    abv = strength(required=False)
    celsius = QuantityField(
        label="Temperature of a volume", units=["°C", "°F"], low=-20, high=40, required=False
    )
    moisture = share("Moisture", required=False)
    supplier_lot = words("Lot on the bag", 60, required=False)
    best_before = day("Best before", required=False)
    note = words("What is known about it", 1000, many=True, required=False)

    read: Amount | None = None

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and given.get("amount"):
            self.read = read_amount(self, given)
        return given

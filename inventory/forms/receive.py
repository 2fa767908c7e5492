"""The receive form: the paper that came with the goods, and a row for each kind of goods."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from inventory.actions.receive import Delivered
from inventory.calc import contents
from inventory.forms.amounts import Amount, read_amount
from inventory.forms.fields import (
    AmountField,
    MoneyField,
    choice,
    day,
    goods,
    paid_for,
    places,
    share,
    strength,
    suppliers,
    words,
)
from inventory.ledger import Strength
from workshop.calc.units import UNITS, Quantity
from workshop.fields import QuantityField
from workshop.forms import PlainForm
from workshop.web import ActForm

ROWS = 3
MOST_ROWS = 30
CENT_PARTS = Decimal("0.0001")


class LineForm(PlainForm):
    """One kind of goods in the delivery. A row left empty counts for nothing and is not read."""

    material = choice("Goods", goods(), none="Nothing here")
    amount = AmountField(help_text="500 g, 1.5 kg, 5 L; of bottles only how many.")
    place = choice("Put at", places())
    best_before = day("Best before", required=False)
    supplier_lot = words("Supplier's lot", 60, required=False)
    moisture = share("Moisture", required=False)
    abv = strength(required=False)
    celsius = QuantityField(
        label="Temperature of the volume", units=["°C", "°F"], low=-20, high=40, required=False
    )

    acidity = QuantityField(
        label="Acid in 100 mL",
        units=["g"],
        low=0.1,
        high=contents.MOST_ACID,
        required=False,
        help_text="Vinegar only. Left empty: 5 g, common practice, no source.",
    )
    honey_water = share(
        "Water in honey",
        required=False,
        help_text="Honey only. Left empty: 18 %. At most 20 %, Council Directive 2001/110/EC: to confirm.",
    )
    glycerol = share(
        "Strength of glycerol, by mass",
        required=False,
        help_text="Glycerol only. Left empty: 99.5 %, as bought for food (USP, Ph. Eur.): to confirm.",
    )
    price = MoneyField(required=False)
    price_for = paid_for()

    MAIN = ("material", "amount", "place")
    CONTENTS = {"acidity": "vinegar", "honey_water": "honey", "glycerol": "glycerol"}

    def is_empty(self) -> bool:
        """Nothing typed; a place alone is no line."""
        said = [name for name in self.fields if name not in ("place", "price_for")]
        typed = (self.data.get(self.add_prefix(name), "") for name in said)
        return not any(str(value).strip() for value in typed)

    def in_money(self, code: str) -> LineForm:
        """With its price in `code`, or without one."""
        if code:
            self.fields["price"].code = code  # type: ignore[attr-defined]
        else:
            del self.fields["price"], self.fields["price_for"]
        return self

    @property
    def main(self) -> list[forms.BoundField]:
        """What every line says."""
        return [self[name] for name in self.MAIN]

    @property
    def papers(self) -> list[forms.BoundField]:
        """What only some lines say."""
        return [self[name] for name in self.fields if name not in self.MAIN]

    @property
    def has_papers(self) -> bool:
        """Whether one of those holds something, or is wrong."""
        said = [field for field in self.papers if field.name != "price_for"]
        return any(field.value() or (self.is_bound and field.errors) for field in said)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = self.cleaned_data
        material = given.get("material")
        for name, kind in self.CONTENTS.items():
            if given.get(name) is not None and material is not None and material.kind != kind:
                label = self.fields[name].label
                self.add_error(name, f"{label}: this is for {kind} only. Leave it empty for {material}.")
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
            strength=stated(amount, made_of(given)),
            pure_ml=amount.pure_ml,
            as_entered=amount.as_entered,
            paid=self._paid(amount),
            price_as_entered=price_kept(given),
        )

    def _paid(self, amount: Amount) -> Decimal | None:
        """Money for all of the line."""
        typed = self.cleaned_data.get("price")
        if typed is None:
            return None
        if self.cleaned_data.get("price_for") != "one":
            return Decimal(typed.base)
        return paid_in_all(typed.base, self.cleaned_data["amount"])


def paid_in_all(price: Decimal, amount: Quantity) -> Decimal:
    """Money for `amount` at `price` for a kilogram, a litre or a piece, as its unit says."""
    each = Decimal(1) if UNITS[amount.unit].dimension == "count" else Decimal(1000)
    return (price * amount.base / each).quantize(CENT_PARTS)


def price_kept(given: Mapping[str, Any]) -> dict[str, Any]:
    """How a price was typed, for good."""
    typed = given.get("price")
    return {} if typed is None else {"text": typed.text.strip(), "for": given.get("price_for") or "all"}


def fraction(typed: Any) -> float | None:
    return None if typed is None else float(typed.base / Decimal(100))


def made_of(given: Mapping[str, Any]) -> dict[str, float]:
    """Mass fractions by the figure on the papers; {} where none was written."""
    if (acid := given.get("acidity")) is not None:
        return contents.of_acidity(float(acid.base))
    if (water := fraction(given.get("honey_water"))) is not None:
        return contents.of_water_in_honey(water)
    strength = fraction(given.get("glycerol"))
    return contents.of_glycerol_strength(strength) if strength is not None else {}


def stated(amount: Amount, composition: Mapping[str, float]) -> Strength | None:
    if amount.abv is None and amount.density_20 is None and not composition:
        return None
    return Strength(amount.abv, "stated", density_20=amount.density_20, composition=composition)


def typed_strength(typed: Any) -> Strength | None:
    """A strength that came without an amount."""
    return None if typed is None else Strength(float(typed.base), "stated")


class DeliveryForm(ActForm):
    """The whole delivery. `rows` says how many lines are shown; "Another line" adds one.

    `typed` refills an unbound form with what was typed so far, unread and unjudged. With `money` (an ISO 4217
    code) each line asks for its price.
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
        money: str = "",
    ) -> None:
        super().__init__(data, initial={"arrived_on": today} | dict((typed or {}).items()))
        self.count = min(MOST_ROWS, _whole(data or typed, "rows", ROWS) + more)
        self.initial["rows"] = str(self.count)
        self.lines = [_line(data, typed, f"line{n}").in_money(money) for n in range(self.count)]
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
    """One row, bound to the data of its prefix if anything stands in it, or refilled with what was typed."""
    start = len(prefix) + 1
    given = data or typed or {}
    kept = {name[start:]: value for name, value in given.items() if name.startswith(f"{prefix}-")}
    bound = LineForm(data, prefix=prefix, use_required_attribute=False)
    if bound.is_bound and not bound.is_empty():
        return bound
    return LineForm(prefix=prefix, initial=kept, use_required_attribute=False)


def _share_choices(lines: list[LineForm]) -> None:
    """The lists of goods and places are read once, not once for every row."""
    for name in ("material", "place"):
        shared = list(lines[0].fields[name].choices)  # type: ignore[attr-defined]
        for line in lines:
            line.fields[name].widget.choices = shared  # type: ignore[attr-defined]
            if name == "place" and len(shared) == 2:  # the empty choice and the only place
                line.initial.setdefault(name, str(shared[1][0]))


def _whole(data: Mapping[str, Any] | None, name: str, otherwise: int) -> int:
    text = str((data or {}).get(name, ""))
    return max(1, int(text)) if text.isascii() and text.isdigit() and len(text) < 4 else otherwise

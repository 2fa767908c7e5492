"""Forms for goods, places, suppliers and customers."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.forms.fields import share, words
from inventory.models import Material, Party, Place
from workshop.fields import CountField, QuantityField
from workshop.web import ActForm


class GoodsForm(ActForm):
    """One kind of goods."""

    kind = forms.ChoiceField(label="Kind", choices=Material.Kind.choices)
    name = words("Name", 120)
    latin_name = words("Latin name", 120, required=False)
    part = words("Plant part", 60, required=False)
    measured = forms.ChoiceField(
        label="Kept by", choices=Material.Measured.choices, widget=forms.RadioSelect, initial="mass"
    )
    density_20 = QuantityField(
        label="Density at 20 °C",
        units=["kg/m³", "g/mL"],
        low=100,
        high=3000,
        required=False,
        help_text="Of liquids other than spirit, so that a volume becomes a weight: 1.26 g/mL, or 998.2.",
    )
    fill_ml = QuantityField(label="Content of one bottle", units=["mL", "L", "fl oz"], required=False)
    moisture = share("Usual moisture", required=False)
    shelf_months = CountField(label="Keeps for", unit="months", required=False, max_value=600)
    allergens = words("Allergens", 200, required=False)
    metered = forms.BooleanField(label="A balance is kept (off for tap water)", required=False, initial=True)
    quarantine = forms.BooleanField(
        label="A new lot waits until the owner releases it", required=False, initial=True
    )
    cautions = words("Cautions", 2000, many=True, required=False)

    def facts(self) -> dict[str, Any]:
        """The fields of `Material`."""
        given = self.values()
        for name in ("density_20", "fill_ml"):
            given[name] = None if given[name] is None else float(given[name].base)
        moisture = given["moisture"]
        given["moisture"] = None if moisture is None else float(moisture.base) / 100
        return given


def goods_as_typed(material: Material) -> dict[str, Any]:
    """What the form shows of goods that exist."""
    shown: dict[str, Any] = {
        name: getattr(material, name) for name in GoodsForm.base_fields if name != "once_key"
    }
    shown["moisture"] = _plain(material.moisture, 100)
    return shown


def _plain(value: float | None, times: float = 1) -> str:
    return "" if value is None else f"{value * times:.4f}".rstrip("0").rstrip(".")


class PlaceForm(ActForm):
    """One place."""

    name = words("Name", 60)
    kind = forms.ChoiceField(label="Kind", choices=Place.Kind.choices)
    room = words("Room", 60, required=False)
    walk = CountField(
        label="Order in the walk",
        required=False,
        max_value=9999,
        help_text="Places are visited in this order.",
    )

    def facts(self) -> dict[str, Any]:
        """The fields of `Place`."""
        given = self.values()
        return given | {"walk": given["walk"] or 0}


class PartyForm(ActForm):
    """A supplier, a customer, or both."""

    name = words("Name", 120)
    is_supplier = forms.BooleanField(label="We buy from them", required=False)
    is_customer = forms.BooleanField(label="We sell to them", required=False)
    contact = words("Who to ask for", 120, required=False)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "E-mail: write it as name@place.example."},
    )
    phone = words("Telephone", 40, required=False)
    address = words("Address", 2000, many=True, required=False)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        if not given.get("is_supplier") and not given.get("is_customer"):
            self.add_error(None, "Say whether you buy from them, sell to them, or both.")
        return given

    def facts(self) -> dict[str, Any]:
        """The fields of `Party`."""
        return self.values()


def as_typed(row: Place | Party, form: type[ActForm]) -> dict[str, Any]:
    """What the form shows of a row that exists."""
    return {name: getattr(row, name) for name in form.base_fields if name != "once_key"}

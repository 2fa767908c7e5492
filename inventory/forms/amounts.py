"""From a typed amount to grams or units: what may be typed for which goods, and what is kept of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django import forms

from inventory.calc.volumes import BadVolume, grams_of, pure_ml
from inventory.models import Material
from workshop.calc.rounding import to_stock
from workshop.calc.units import UNITS, Quantity

ROOM = 20.0


@dataclass(frozen=True, slots=True)
class Amount:
    """`stock` in g or units; strength (% vol at 20 °C) and density as far as they are known."""

    stock: Decimal
    abv: float | None = None
    density_20: float | None = None
    pure_ml: float | None = None
    as_entered: dict[str, Any] = field(default_factory=dict)


def read_amount(form: forms.Form, given: Mapping[str, Any]) -> Amount:
    """The amount in `given` (material, amount, abv, celsius); puts what is wrong on the field of `form`.

    A volume becomes grams by its strength and temperature, or by the density of the goods.
    """
    material, typed = given["material"], given["amount"]
    wrong = _unfit(material, typed)
    abv = float(given["abv"].base) if given.get("abv") else None
    celsius = float(given["celsius"].base) if given.get("celsius") else None
    grams = typed.base
    if not wrong and UNITS[typed.unit].dimension == "volume":
        try:
            grams = to_stock(
                grams_of(float(typed.base), abv=abv, density_20=material.density_20, celsius=celsius)
            )
        except BadVolume as refusal:
            wrong = str(refusal)
    if wrong:
        form.add_error("amount", f"Amount: {wrong}")
        return Amount(Decimal(0))
    stock = grams if material.counted else to_stock(float(grams))
    return Amount(
        stock=stock,
        abv=abv,
        density_20=material.density_20 if abv is None else None,
        pure_ml=pure_ml(float(stock), abv) if abv is not None else None,
        as_entered=_kept(typed, abv, celsius),
    )


def _unfit(material: Material, typed: Quantity) -> str:
    """Why this unit does not fit these goods, or nothing."""
    dimension = UNITS[typed.unit].dimension
    if typed.base <= 0:
        return "write more than nothing."
    if material.counted:
        return (
            ""
            if dimension == "count"
            else f"{material.name} is counted; write only how many, without a unit."
        )
    if dimension == "count":
        units = "g, kg or mL" if material.is_liquid else "g or kg"
        return f"write the unit with it: {units}."
    if dimension == "volume" and not material.is_liquid:
        return f"{material.name} is kept by weight; write g or kg."
    return ""


def _kept(typed: Quantity, abv: float | None, celsius: float | None) -> dict[str, Any]:
    """What was typed, for good."""
    kept: dict[str, Any] = {"value": str(typed.value), "unit": typed.unit, "text": typed.text.strip()}
    if UNITS[typed.unit].dimension == "volume":
        kept["temperature"] = celsius if celsius is not None else ROOM
        kept["basis"] = "by strength" if abv is not None else "by density"
    return kept

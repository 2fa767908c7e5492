"""Typed numbers of the batch forms: ratios, numbers with a unit in words, amounts in own units."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from workshop.calc.rounding import System, in_system
from workshop.calc.units import Quantity
from workshop.fields import QuantityField
from workshop.measures import measures
from workshop.models import Workshop
from workshop.people.models import Person

_US_FIRST = {"g": "oz", "kg": "oz", "mL": "fl oz", "L": "fl oz", "°C": "°F", "cm": "in"}


class NumberField(QuantityField):
    """A plain number with decimals; `said` is its unit in words ("mL per g"). Cleans to a float."""

    def __init__(self, *, said: str = "", **kwargs: Any) -> None:
        super().__init__(units=["mL"], **kwargs)
        self.said = said

    @property
    def unit(self) -> str:
        return self.said

    def _bound(self, base: Decimal | float) -> str:
        text = f"{float(base):g}".replace(".", measures().mark)
        return f"{text}\u00a0{self.said}" if self.said else text

    def clean(self, value: Any) -> Any:
        quantity: Quantity | None = super().clean(value)
        return None if quantity is None else float(quantity.value)


class RatioField(NumberField):
    """mL of menstruum per g of herb, typed as 5 or as 1:5."""

    def clean(self, value: Any) -> Any:
        text = str(value or "").strip()
        return super().clean(text.split(":", 1)[1].strip() if text.startswith("1:") else text)


def system_of(person: Person) -> System:
    """Metric or US customary: the person's own choice, else the workshop's."""
    workshop = Workshop.objects.first()
    own = person.units or (workshop.units if workshop else "metric")
    return "us" if own == "us" else "metric"


def in_own_units(form: forms.Form, system: System) -> None:
    """Put the unit a person thinks in first in every quantity field; it is meant when none is typed."""
    if system == "metric":
        return
    for field in form.fields.values():
        if type(field) is QuantityField and field.units[0] in _US_FIRST:
            first = _US_FIRST[field.units[0]]
            field.units = (first, *(unit for unit in field.units if unit != first))


def name_the_field(form: forms.Form) -> None:
    """Every refusal of a field begins with its label and says what can be done."""
    for field in form.fields.values():
        label = field.label or "This field"
        choosing = isinstance(field, forms.ChoiceField | forms.ModelChoiceField)
        field.error_messages |= {
            "required": f"{label}: {'choose one' if choosing else 'fill this in'}.",
            "max_length": f"{label}: at most %(limit_value)d characters; this has %(show_value)d.",
        }
        if choosing:
            field.error_messages["invalid_choice"] = (
                f"{label}: that one cannot be taken now. Choose one from the list."
            )
        if isinstance(field, forms.DateField):
            field.error_messages["invalid"] = f"{label}: write a day such as 2026-03-02."


def typed(value: float | None, unit: str, system: System = "metric", digits: int = 2) -> str:
    """`value` (base unit) as a person would type it into a field of theirs."""
    if value is None:
        return ""
    shown, _ = in_system(float(value), unit, system)
    text = f"{shown:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{shown:.0f}"
    workshop = Workshop.objects.first()
    return text.replace(".", workshop.decimal_mark if workshop else ".")


def base(quantity: Quantity | None) -> float | None:
    """The base value of a cleaned quantity."""
    return None if quantity is None else float(quantity.base)


def bases(cleaned: Mapping[str, Any]) -> dict[str, Any]:
    """Cleaned values with every quantity as a float in its base unit."""
    return {name: base(v) if isinstance(v, Quantity) else v for name, v in cleaned.items()}

"""Form fields for what people type: quantities by the one strict grammar, with the unit in sight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from workshop.calc.units import BASE, MOST_TYPED, UNITS, BadQuantity, Quantity, parse_quantity
from workshop.measures import measures


class QuantityField(forms.CharField):
    """A typed quantity. `units`: the units that may follow the number; the first is meant when none does.

    Cleans to a `Quantity` (value and unit as typed, `base` in g, mL, °C, cm, % vol, min or units), or to
    None when empty and not required. `low` and `high` bound the base value, in words that name the field.
    """

    def __init__(
        self,
        *,
        units: Sequence[str],
        low: Decimal | float | None = None,
        high: Decimal | float | None = None,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.units, self.low, self.high = tuple(units), low, high
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")
        self.widget.attrs.pop("maxlength", None)

    @property
    def unit(self) -> str:
        """The unit that is meant when none is typed: the first of the person's own system."""
        return measures().own_first(self.units)[0]

    def prepare_value(self, value: Any) -> Any:
        """A number is a stored base value and is shown in the person's unit; text stays as typed."""
        if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
            return measures().typed(value, BASE[UNITS[self.unit].dimension], self.unit)
        return value

    def clean(self, value: Any) -> Quantity | None:
        text = super().clean(value)
        if not text:
            return None
        label, own = str(self.label or "This value"), measures()
        try:
            quantity = parse_quantity(
                text, field=label, units=own.own_first(self.units), decimal_mark=own.mark
            )
        except BadQuantity as refusal:
            raise ValidationError(str(refusal)) from refusal
        self._check_bounds(label, quantity)
        return quantity

    def _check_bounds(self, label: str, quantity: Quantity) -> None:
        if self.low is not None and quantity.base < Decimal(str(self.low)):
            raise ValidationError(f"{label}: must be at least {self._bound(self.low)}.")
        if self.high is not None and quantity.base > Decimal(str(self.high)):
            raise ValidationError(f"{label}: must be at most {self._bound(self.high)}.")

    def _bound(self, base: Decimal | float) -> str:
        return measures().shown(float(base), BASE[UNITS[self.unit].dimension], 1)


def begun(form: type[forms.Form], query: Mapping[str, str]) -> dict[str, str]:
    """What another page reckoned, from the query: only for the form's own fields of numbers."""
    fields = form.base_fields.items()  # type: ignore[attr-defined]
    numbers = {name for name, field in fields if isinstance(field, QuantityField | CountField)}
    return {name: text[:MOST_TYPED] for name, text in query.items() if name in numbers}


class CountField(forms.IntegerField):
    """Whole things, typed in plain digits."""

    def __init__(self, *, unit: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.unit = unit

    def clean(self, value: Any) -> int | None:
        text = str(value or "").strip()
        if text and not (text.isascii() and text.isdigit() and len(text) <= 7):
            raise ValidationError(f"{self.label}: write a whole number in digits, such as 12.")
        return super().clean(text)

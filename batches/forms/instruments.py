"""The form of the workshop's own half-widths: how sure each instrument is."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from batches.calc.instruments import LIMITS, USUAL, Limit
from batches.forms.numbers import name_the_field
from workshop.calc.units import Quantity
from workshop.fields import QuantityField
from workshop.measures import measures
from workshop.web import ActForm

LEAST = 0.001  # in the field's unit: no instrument is exact


class InstrumentsForm(ActForm):
    """One field for each half-width; an empty one goes back to the usual value."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields |= {one.key: _field(one) for one in LIMITS}
        name_the_field(self)

    def half_widths(self) -> dict[str, float]:
        """What was filled in, as it is kept."""
        typed = {one: self.cleaned_data.get(one.key) for one in LIMITS}
        return {one.key: _kept(one, value) for one, value in typed.items() if value is not None}


def as_typed(own: Mapping[str, float]) -> dict[str, str]:
    """The workshop's own half-widths as they would be typed."""
    return {one.key: _plain(own[one.key] / one.factor) for one in LIMITS if one.key in own}


class WidthField(QuantityField):
    """A half-width in one unit whoever reads: one in °C has no zero point that °F would shift."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        super().__init__(units=[unit], **kwargs)

    def _bound(self, base: Decimal | float) -> str:
        return f"{_plain(float(base))}\u00a0{self.units[0]}"


def _kept(one: Limit, typed: Quantity) -> float:
    return float(round(typed.base * Decimal(str(one.factor)), 8))


def _plain(value: float) -> str:
    return f"{value:.6g}".replace(".", measures().mark)


def _field(one: Limit) -> WidthField:
    usual = _plain(getattr(USUAL, one.key) / one.factor)
    field = WidthField(
        unit=one.unit,
        label=one.words,
        low=LEAST,
        high=one.most,
        required=False,
        help_text=f"Usual: {usual}\u00a0{one.unit}. Source: {one.source}.",
    )
    field.may = "if you know better"  # type: ignore[attr-defined]
    return field

"""The form of a calculation, built from its fields; what is typed becomes the values it reckons with."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from batches.calc.errors import OutOfRange
from batches.calc.reckoner import Calculation, Field, Kind, Reckoned, Value, Values
from batches.forms.numbers import NumberField, RatioField, name_the_field
from workshop.calc.rounding import tie
from workshop.calc.units import Quantity
from workshop.fields import CountField, QuantityField
from workshop.forms import PlainForm
from workshop.measures import measures

LEAST_ROWS = 2


def _bounds(one: Field) -> dict[str, Any]:
    return {"low": one.low, "high": one.high}


def _field(one: Field) -> forms.Field:
    common: dict[str, Any] = {"label": one.label, "required": one.required, "help_text": one.hint}
    if one.kind is Kind.CHOICE:
        words = [(key, tie(said)) for key, said in one.choices]
        return forms.ChoiceField(choices=words, widget=forms.RadioSelect, **common)
    if one.kind is Kind.COUNT:
        limits = {"min_value": int(one.low or 0), "max_value": int(one.high or 0)}
        return CountField(unit=one.said, **limits, **common)
    if one.kind is Kind.NUMBER:
        return NumberField(said=one.said, **_bounds(one), **common)
    if one.kind is Kind.PARTS:
        return RatioField(said=one.said, **_bounds(one), **common)
    return QuantityField(units=one.units, **_bounds(one), **common)


def _typed(one: Field, made: forms.Field) -> str:
    """The worked example's value as the reader would type it."""
    if not isinstance(one.start, float):
        return one.start or ""
    if one.kind is Kind.QUANTITY:
        return str(made.prepare_value(one.start))
    return f"{one.start:g}".replace(".", measures().mark)


def _value(cleaned: Any) -> Value:
    if isinstance(cleaned, Quantity):
        return float(cleaned.base)
    return float(cleaned) if isinstance(cleaned, (int, float, Decimal)) else (cleaned or None)


class ReckonerForm(PlainForm):
    """The fields of one calculation, of one of its ways; always bound, to what was typed or to an example."""

    def __init__(
        self,
        asked: Calculation,
        typed: Mapping[str, str],
        *,
        own: Mapping[str, float] | None = None,
        example: bool = True,
    ) -> None:
        self.asked, self.way = asked, asked.way(typed.get("way", ""))
        every = asked.fields_for(self.way)
        self.is_example = example and not any(one.name in typed for one in every)
        self.rows = self._rows(every, typed)
        self.used = tuple(one for one in every if one.row <= self.rows)
        self.base_fields = {one.name: _field(one) for one in self.used}
        super().__init__(self._data(typed, own or {}))
        name_the_field(self)
        said: set[tuple[str, ...]] = set()
        for one in self.used:
            made: Any = self.fields[one.name]
            if one.may:
                made.may = tie(one.may)
            made.terse = one.units in said  # what units may follow is said once
            said.add(one.units)

    def _rows(self, every: tuple[Field, ...], typed: Mapping[str, str]) -> int:
        """How many lines of a list are shown: those that hold something, and one more when asked for."""
        filled = [one.row for one in every if (self._given(one, typed)).strip()]
        more = 1 if typed.get("more") else 0
        return min(self.asked.rows, max(LEAST_ROWS, *filled, 0) + more)

    def _given(self, one: Field, typed: Mapping[str, str]) -> str:
        return "" if self.is_example else typed.get(one.name, "")

    def _data(self, typed: Mapping[str, str], own: Mapping[str, float]) -> dict[str, str]:
        data = {}
        for one in self.used:
            made = self.base_fields[one.name]
            if self.is_example and one.name in own:
                data[one.name] = str(made.prepare_value(own[one.name]))
            elif self.is_example or (one.kind is Kind.CHOICE and one.name not in typed):
                data[one.name] = _typed(one, made)
            else:
                data[one.name] = typed.get(one.name, "")
        return data

    @property
    def may_grow(self) -> bool:
        """Whether the list has room for one more line."""
        return self.rows < self.asked.rows

    def values(self) -> Values:
        """What was typed, in base units; what an empty field stands for filled in."""
        found = Values(way=self.way or None)
        for one in self.used:
            cleaned = _value(self.cleaned_data.get(one.name))
            found[one.name] = one.empty if cleaned is None else cleaned
        return found

    def answer(self) -> tuple[Values, Reckoned] | None:
        """Values and result; None with the reason in the form's errors."""
        if not self.is_valid():
            return None
        values = self.values()
        try:
            return values, self.asked.reckon(values)
        except OutOfRange as reason:
            self.add_error(None, str(reason))
        return None

"""One question for every form with a plan: an amount far off is asked about once, and taken when it is right.

A form says what it expects (`ActForm.expect`). What is typed stays; the answer is a tick that holds for
these very figures and no others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from workshop.calc.plausible import far_off, ratio_words
from workshop.calc.units import BASE, UNITS, Quantity
from workshop.measures import measures

TICK = "as_typed"
WITH_IT = ("weighed_in",)  # the vessel whose empty weight is taken off
ASK = "Look again; if it is right, send it once more with the tick that is then shown."


@dataclass(frozen=True, slots=True)
class Expected:
    """What a field should come to: `amounts` by base unit ("g", "mL", "" for whole things).

    `also`: a second field that counts with it. `short`: too little is asked about as well. `what`: the words
    that stand after the amount, "planned" or "in the jar".
    """

    amounts: Mapping[str, float]
    also: str = ""
    short: bool = True
    what: str = "planned"


class AsTyped(forms.CheckboxInput):
    """A tick that says which figures it was set for."""

    mark = ""

    def format_value(self, value: Any) -> str:
        return self.mark

    def value_from_datadict(self, data: Any, files: Any, name: str) -> str:
        return str(data.get(name, ""))


def judge(form: forms.Form, expected: Mapping[str, Expected]) -> None:
    """Ask at each field that is far off, unless the tick for these figures came with the form."""
    asked = {name: said for name, one in expected.items() if (said := _question(form, name, one))}
    if not asked:
        return
    beside = [also for name in asked if (also := expected[name].also)]
    marked = dict.fromkeys([*asked, *beside, *(name for name in form.fields if name in WITH_IT)])
    mark = "; ".join(f"{name} {str(form[name].value() or '').strip()}" for name in marked)
    sent = str(form.data.get(form.add_prefix(TICK), ""))
    form.fields[TICK] = _tick(form, asked, mark, given=sent == mark)
    if sent != mark:
        for name, said in asked.items():
            form.add_error(name, ValidationError(said, code="far_off"))


def _tick(form: forms.Form, asked: Mapping[str, str], mark: str, *, given: bool) -> forms.Field:
    widget = AsTyped(check_test=lambda _: given)
    widget.mark = mark
    typed = " and ".join(str(form[name].value()).strip() for name in asked)
    return forms.CharField(label=f"It is right as typed: {typed}", required=False, widget=widget)


def _question(form: forms.Form, name: str, one: Expected) -> str:
    """The sentence for one field; "" when it is near the plan, empty, or wrong anyhow."""
    typed = form.cleaned_data.get(name)
    if typed is None or name in form.errors:
        return ""
    value, unit = _base(typed)
    other = form.cleaned_data.get(one.also) if one.also else None
    if other is not None and _base(other)[1] == unit:
        value += _base(other)[0]
    planned = one.amounts.get(unit)
    if planned is None or not far_off(value, planned, short=one.short):
        return ""
    shown = measures().shown
    said, wanted = (shown(amount, unit, 0 if amount >= 10 else 1) for amount in (value, planned))
    return f"{said} is {ratio_words(value, planned)} the {wanted} {one.what}. {ASK}"


def _base(typed: Quantity | int) -> tuple[float, str]:
    if isinstance(typed, Quantity):
        return float(typed.base), BASE[UNITS[typed.unit].dimension]
    return float(typed), ""

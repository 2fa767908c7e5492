"""The plan beside the hand: its lots chosen beforehand, its amounts said at the fields.

Amounts of a planned batch are only said: what is saved is what the scale showed. In a quick jar the
person has just weighed and typed them, so they stand in the fields already.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from batches.forms.numbers import typed
from workshop.forms import ActForm
from workshop.measures import measures


def plan_to_make_up(form: ActForm, plan: Mapping[str, Any], *, base: str) -> None:
    """Spirit (or what `base` says instead) and water of an approved plan, for the making-up form."""
    results = plan.get("results", {})
    lots = {row["role"]: row["lot"] for row in plan.get("lots", [])}
    form.fields["spirit_lot"].initial = plan.get("spirit_lot") if base == "spirit" else lots.get(base)
    for name, planned in (("spirit", base), ("water", "water")):
        if f"{planned}_ml" in results and f"{planned}_g" in results:
            form.fields[name].help_text = f"Planned: {_both(results, planned)}."
            form.expect(name, **_amounts(results, planned))


def plan_to_charge(form: ActForm, plan: Mapping[str, Any], *, quick: bool) -> None:
    """Herb, menstruum and vessel of a plan, for the charging form."""
    form.fields["herb_lot"].initial = plan.get("herb_lot")
    if "vessel" in form.fields:
        form.fields["vessel"].initial = plan.get("vessel")
    if form.fields["menstruum_lot"].initial is None:
        form.fields["menstruum_lot"].initial = plan.get("menstruum_lot")
    form.expect("herb_g", also="second_g", g=plan.get("herb_g"))
    form.expect("menstruum", ml=plan.get("menstruum_ml"))
    if quick:
        form.fields["herb_g"].initial = f"{typed(plan.get('herb_g'), 'g')} g" if plan.get("herb_g") else ""
        ml = plan.get("menstruum_ml")
        form.fields["menstruum"].initial = f"{typed(ml, 'mL')} mL" if ml else ""
        return
    _say_herbs(form, plan)
    if "menstruum_g" in plan.get("results", {}):
        form.fields["menstruum"].help_text = f"Planned: {_both(plan['results'], 'menstruum')}."
        form.expect("menstruum", **_amounts(plan["results"], "menstruum"))


def _say_herbs(form: ActForm, plan: Mapping[str, Any]) -> None:
    herbs = plan.get("herbs", [])
    names = (("herb_lot", "herb_g"), ("second_lot", "second_g"))
    for (lot_field, weight_field), (lot, grams) in zip(names, herbs, strict=False):
        form.fields[lot_field].initial = lot
        form.fields[weight_field].help_text = f"Planned: {measures().shown(grams, 'g', 1)}."


def _amounts(results: Mapping[str, Any], name: str) -> dict[str, float]:
    return {"ml": results[f"{name}_ml"]["value"], "g": results[f"{name}_g"]["value"]}


def _both(results: Mapping[str, Any], name: str) -> str:
    """By volume and by the scale: "750 mL (606 g)"."""
    ml, g, own = results[f"{name}_ml"], results[f"{name}_g"], measures()
    return f"{own.shown(ml['value'], 'mL', ml['digits'])} ({own.shown(g['value'], 'g', g['digits'])})"

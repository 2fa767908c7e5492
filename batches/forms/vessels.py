"""The form of a vessel."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.numbers import bases, in_own_units, name_the_field, system_of, typed
from batches.models import Vessel
from inventory.models import Place
from workshop.fields import QuantityField
from workshop.people.models import Person
from workshop.web import ActForm


class VesselForm(ActForm):
    """Tag, form, capacity, empty mass, place; the inner diameter for a pot."""

    tag = forms.CharField(label="Tag", max_length=12, help_text="As it is written on the vessel, such as K7.")
    form = forms.ChoiceField(label="Form", choices=Vessel.Form.choices)
    capacity_ml = QuantityField(label="Holds", units=["mL", "L", "fl oz"], low=1, high=1_000_000)
    tare_g = QuantityField(
        label="Empty mass",
        units=["g", "kg", "oz", "lb"],
        low=1,
        high=500_000,
        required=False,
        help_text="Weigh it empty, lid on. Then every target is also a scale reading.",
    )
    diameter_cm = QuantityField(
        label="Inner diameter",
        units=["cm", "mm", "in"],
        low=1,
        high=300,
        required=False,
        help_text="For a pot: levels then tell the volume.",
    )
    place = forms.ModelChoiceField(
        Place.objects.filter(archived=False), label="Stands at", empty_label="Choose"
    )

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_own_units(self, system_of(person))
        name_the_field(self)

    def clean_tag(self) -> str:
        return str(self.cleaned_data["tag"]).strip().upper()

    def facts(self) -> dict[str, Any]:
        return bases(self.values())


def as_typed(vessel: Vessel, person: Person) -> dict[str, Any]:
    """A vessel as the initial values of its form."""
    system = system_of(person)
    return {
        "tag": vessel.tag,
        "form": vessel.form,
        "capacity_ml": typed(vessel.capacity_ml, "mL", system),
        "tare_g": typed(vessel.tare_g, "g", system),
        "diameter_cm": typed(vessel.diameter_cm, "cm", system),
        "place": vessel.place_id,
    }

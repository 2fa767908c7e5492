"""The forms of what the workshop learns."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.numbers import in_own_units, name_the_field, system_of
from inventory.models import Lot, Material
from workshop.fields import CountField, QuantityField
from workshop.people.models import Person
from workshop.web import ActForm


class JudgeForm(ActForm):
    """Which run, whether it counts, and why."""

    ref = forms.CharField(max_length=40, widget=forms.HiddenInput)
    aside = forms.BooleanField(required=False, widget=forms.HiddenInput)
    reason = forms.CharField(label="Reason", max_length=300)


class DropsForm(ActForm):
    """Drops counted onto the scale."""

    dropper = forms.ModelChoiceField(
        Material.objects.filter(kind=Material.Kind.CLOSURE, archived=False),
        label="Dropper",
        empty_label="Choose",
    )
    liquid = forms.ModelChoiceField(
        Lot.objects.filter(
            material__kind__in=(Material.Kind.BULK, Material.Kind.PRODUCT, Material.Kind.SPIRIT)
        )
        .select_related("material")
        .order_by("-pk"),
        label="Liquid",
        empty_label="Choose",
    )
    count = CountField(
        label="Drops counted", min_value=1, max_value=1000, initial=20, help_text="20 or more."
    )
    mass_g = QuantityField(
        units=["g"],
        label="They weigh",
        low=0.001,
        high=1000,
        help_text="Dropper upright, about one a second.",
    )

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_own_units(self, system_of(person))
        name_the_field(self)

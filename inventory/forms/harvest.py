"""The form of a harvest."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from inventory.forms.fields import MASS_UNITS, choice, day, goods, places, share, words
from inventory.models import Material
from workshop.fields import QuantityField
from workshop.web import ActForm

USUAL_FRESH = "80"


class HarvestForm(ActForm):
    """What was gathered, where, when and in which state."""

    material = choice("Herb", goods().filter(kind__in=(Material.Kind.HERB, Material.Kind.FUNGUS)))
    part = words("Part", 60, required=False, may="if it is not the part in the list of goods")
    amount = QuantityField(
        label="Weight, fresh",
        units=list(MASS_UNITS),
        low=0.1,
        high=1_000_000,
        help_text="As it was weighed, before it is dried.",
    )
    site = words("Plot or site", 120)
    harvested_on = day("Harvested on")
    gathered_by = words("Gathered by", 120, required=False, may="if it was somebody else")
    weather = words("Weather", 120, required=False, may="dew, rain, sun")
    washed = forms.BooleanField(label="It was washed", required=False)
    moisture = share(
        "Water in it",
        initial=USUAL_FRESH,
        help_text="Leaves and flowers 75 to 90 %, roots 56 to 75 %, mushrooms 90 %: herbal practice. It "
        "decides the strength of a fresh jar.",
    )
    moisture_measured = forms.BooleanField(label="The water was measured", required=False)
    place = choice("Put at", places())
    note = words("Note", 1000, many=True, required=False)

    def __init__(self, data: Mapping[str, Any] | None = None, *, today: date) -> None:
        super().__init__(data, initial={"harvested_on": today})
        found = list(places()[:2])
        if len(found) == 1:
            self.initial["place"] = found[0].pk

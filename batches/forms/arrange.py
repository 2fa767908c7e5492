"""What a tap sends where the shelf is arranged: a place's turn in the walk, a vessel's new neighbour."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.models import Vessel
from inventory.models import Place
from workshop.forms import ActForm


class WalkForm(ActForm):
    """A place comes earlier or later in the walk."""

    place = forms.ModelChoiceField(Place.objects.filter(archived=False), label="Place")
    way = forms.ChoiceField(label="Way", choices=[("earlier", "Earlier"), ("later", "Later")])

    @property
    def steps(self) -> int:
        return -1 if self.cleaned_data["way"] == "earlier" else 1


class StandForm(ActForm):
    """A vessel's new place: `to` is the place's number, or it and the number of the vessel after it."""

    vessel = forms.ModelChoiceField(Vessel.objects.filter(archived=False), label="Vessel")
    to = forms.RegexField(r"\A\d{1,9}(:\d{1,9})?\Z", label="New place")

    def clean_to(self) -> tuple[Place, Vessel | None]:
        place, _, before = str(self.cleaned_data["to"]).partition(":")
        found = Place.objects.filter(pk=int(place), archived=False).first()
        other = Vessel.objects.filter(pk=int(before)).first() if before else None
        if found is None or (before and other is None):
            raise forms.ValidationError("New place: it is no longer in use. Look again, and tap another one.")
        return found, other

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if "vessel" in data and "to" in data and data["to"][1] == data["vessel"]:
            self.add_error("to", "New place: it stands there already. Tap another neighbour.")
        return data

"""What every form at a stage has in common."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms

from batches.models import Occupancy, Stage, Vessel
from batches.queries.deviations import limit_of, words_of
from batches.stages.limits import BY_NAME
from workshop.calc.units import UNITS, Quantity, from_base
from workshop.measures import measures
from workshop.web import ActForm

UNSAID = "---------"  # what the framework writes where nobody gave it words


class StageForm(ActForm):
    """A form at a stage: knows its stage, so that fields can offer its lots and vessels."""

    def __init__(self, *args: Any, stage: Stage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stage = stage
        self.prepare()
        for field in self.fields.values():
            if isinstance(field, forms.ModelChoiceField) and field.empty_label == UNSAID:
                field.empty_label = "Choose" if field.required else "None"

    def prepare(self) -> None:
        """Fill choices, hints and initial values from `self.stage`."""


class LimitedForm(StageForm):
    """A form of an act whose entry a formula may limit: a reason is offered where it does, and only there."""

    limit = ""

    def __init__(self, *args: Any, stage: Stage, **kwargs: Any) -> None:
        super().__init__(*args, stage=stage, **kwargs)
        between = limit_of(stage.batch, self.limit)
        if between is None:
            return
        said = f"Only outside {words_of(BY_NAME[self.limit], between)}, which the formula sets."
        self.fields["reason"] = forms.CharField(
            label="Reason", max_length=300, required=False, help_text=said
        )


class VesselChoice(forms.ModelChoiceField):
    """A vessel for what was just poured: the free ones, and those that the batch itself stands in."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Vessel.objects.none(), **kwargs)

    def offer(self, stage: Stage) -> None:
        """Free vessels other than pots, and the batch's own jars."""
        busy = Occupancy.objects.filter(during__endswith__isnull=True).exclude(stage__batch=stage.batch_id)
        vessels = Vessel.objects.filter(archived=False).exclude(form=Vessel.Form.POT)
        self.queryset = vessels.exclude(pk__in=busy.values("vessel_id")).select_related("place")

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.tag}, {obj.place}, {measures().shown(obj.capacity_ml, 'mL', 0)}"


class TareChoice(forms.ModelChoiceField):
    """The vessel that stood on the scale with what was weighed; its empty mass is taken off."""

    def __init__(self) -> None:
        super().__init__(
            queryset=Vessel.objects.filter(archived=False, tare_g__isnull=False),
            label="Weighed in",
            required=False,
            empty_label="Nothing, or already taken off",
            help_text="Only for a weight: type what the scale shows, the empty vessel is taken off.",
        )

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.tag}, empty {measures().shown(obj.tare_g, 'g', 0)}"


class WeighedForm(StageForm):
    """A form whose `weighed` field may be a scale reading with a tagged vessel in it."""

    weighed = "amount"
    weighed_in = TareChoice()

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        vessel, typed = data.get("weighed_in"), data.get(self.weighed)
        if vessel is None or typed is None:
            return data
        if UNITS[typed.unit].dimension != "mass":
            self.add_error("weighed_in", "Weighed in: this goes with a weight, not with a volume.")
        elif float(typed.base) <= vessel.tare_g:
            shown = measures().shown
            self.add_error(
                self.weighed,
                f"The scale shows {shown(float(typed.base), 'g', 1)}, no more than the empty {vessel.tag} "
                f"({shown(vessel.tare_g, 'g', 0)}).",
            )
        else:
            data[self.weighed] = without_tare(typed, vessel.tare_g)
        return data

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in super().values().items() if name != "weighed_in"}


def without_tare(typed: Quantity, tare_g: float) -> Quantity:
    """The weight without its vessel, in the unit it was typed in; the typed text stays."""
    base = typed.base - type(typed.base)(str(tare_g))
    return replace(typed, base=base, value=from_base(base, typed.unit))

"""What every form at a stage has in common."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.models import Occupancy, Stage, Vessel
from workshop.measures import measures
from workshop.web import ActForm


class StageForm(ActForm):
    """A form at a stage: knows its stage, so that fields can offer its lots and vessels."""

    def __init__(self, *args: Any, stage: Stage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stage = stage
        self.prepare()

    def prepare(self) -> None:
        """Fill choices, hints and initial values from `self.stage`."""


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

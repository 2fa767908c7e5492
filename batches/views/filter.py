"""The acts and the panel of the filter."""

from __future__ import annotations

from typing import Any

from batches.actions import filter as filtering
from batches.forms.filter import FilteredForm
from batches.models import Stage
from batches.queries.filtering import liquid_of
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec

ACTS = [
    ActSpec("filtered", "Filtered", "Filter it", filtering.filtered, FilteredForm, icon="funnel"),
    ActSpec("unfiltered", "Clear enough", "Leave the filter out", filtering.unfiltered, quick=True),
]


def filter_panel(stage: Stage) -> dict[str, Any]:
    """What is to be filtered, and the caution that fits it."""
    held, kind = liquid_of(stage.batch), kind_of(stage.kind)
    settings = kind.read(stage.settings)
    facts = StageFacts(title=stage.batch.title, abv=held.lot.abv if held else None)
    return {"liquid": held, "settings": settings, "cautions": kind.cautions(settings, facts)}


PANELS = {"filter": filter_panel}

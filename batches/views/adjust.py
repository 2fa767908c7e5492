"""The acts and the panel of adjusting."""

from __future__ import annotations

from typing import Any

from batches.actions import adjust
from batches.forms import adjust as forms
from batches.models import Stage
from batches.queries import adjusting
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec

ACTS = [
    ActSpec("pour_in", "Poured in", "Pour something in", adjust.pour_in, forms.PourInForm, icon="pour"),
    ActSpec("adjusted", "As it should be", "It is as it should be", adjust.adjusted, icon="done", quick=True),
]


def adjust_panel(stage: Stage) -> dict[str, Any]:
    """What stands there, what it is made of, whether it would keep, and what the formula asks."""
    kind = kind_of(stage.kind)
    settings = kind.read(stage.settings)
    return {
        "settings": settings,
        "standing": adjusting.standing_liquid(stage.batch),
        "poured": adjusting.poured_in(stage),
        "cautions": kind.cautions(settings, StageFacts(title=stage.batch.title)),
    }


PANELS = {"adjust": adjust_panel}

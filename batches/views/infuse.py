"""The acts and the panel of an infusion."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from batches.actions import infuse
from batches.forms import infuse as forms
from batches.models import Stage
from batches.queries import infusing
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec
from workshop import clock

ACTS = [
    ActSpec("steep", "Poured on", "Pour it on the herb", infuse.steep, forms.SteepForm, icon="pour"),
    ActSpec("warmth", "Read", "Read its temperature", infuse.warmth, forms.WarmthForm, icon="pot"),
    ActSpec("drawn", "It has drawn", "Take it to the press", infuse.drawn, icon="done", quick=True),
]


def infuse_panel(stage: Stage) -> dict[str, Any]:
    """What draws, since when and how warm, and the acts that fit."""
    found, kind, at = infusing.infusion_of(stage), kind_of(stage.kind), clock.now()
    settings = infusing.settings_of(stage)
    names = [name for name in infusing.next_acts(stage) if found is None or name != "warmth"]
    context: dict[str, Any] = {
        "infusion": found,
        "settings": settings,
        "names": names,
        "cautions": kind.cautions(settings, StageFacts(title=stage.batch.title)),
    }
    if found is None:
        return context
    return context | {
        "jar": found.jar,
        "has_drawn": found.has_drawn(at),
        "until": found.began.at + timedelta(hours=settings.hours),
        "warmth_form": forms.WarmthForm(stage=stage),
    }


PANELS = {"infuse": infuse_panel}

"""A drying begun from its fresh lot, its acts and its panel."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import dry
from batches.forms import dry as forms
from batches.models import Stage, StageAct
from batches.queries.racks import next_acts, rack_of
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec
from inventory.models import Lot
from workshop.people import rights
from workshop.web import act, door


def _to_its_lot(stage: Stage, done: StageAct) -> str:
    """The dried herb is what counts from now on."""
    return reverse("inventory:lot", args=[done.data["lot"]])


ACTS = [
    ActSpec("laid_out", "Laid out", "Lay it out to dry", dry.laid_out, forms.LaidOutForm, icon="weigh"),
    ActSpec("dry_weighed", "Weighed", "Weigh it", dry.dry_weighed, forms.DryWeighedForm, icon="weigh"),
    ActSpec("dried", "Dried", "Take it off", dry.dried, forms.DriedForm, icon="done", after=_to_its_lot),
    ActSpec("dry_lost", "Thrown away", "It is thrown away", dry.dry_lost, forms.DryLostForm, icon="bad"),
]


@door(rights.PLAN)
def dry_new(request: HttpRequest) -> HttpResponse:
    """Choose the fresh lot; the weighing-in comes next."""
    code = request.GET.get("lot", "").replace("\x00", "")[:20]
    start = {"lot": Lot.objects.filter(code=code).values_list("pk", flat=True).first()}
    form = forms.BeginForm(request.POST or None, initial=start)
    done = act(request, form, name="dry", do=lambda at: _begun(request, form, at)) if form.is_bound else None
    empty = not form.fields["lot"].queryset.exists()  # type: ignore[attr-defined]
    status = 422 if form.errors else 200
    return done or render(request, "batches/dry_new.html", {"form": form, "empty": empty}, status=status)


def _begun(request: HttpRequest, form: Any, at: datetime) -> str:
    batch = dry.begin_drying(by=request.user, at=at, **form.values())  # type: ignore[arg-type]
    return reverse("batches:act", args=[batch.number, 1, "laid_out"])


def dry_panel(stage: Stage) -> dict[str, Any]:
    """What lies on the rack, its water now, its pace, and the act that comes next."""
    rack, kind = rack_of(stage), kind_of(stage.kind)
    settings = kind.read(stage.settings)
    context: dict[str, Any] = {
        "rack": rack,
        "settings": settings,
        "names": [name for name in next_acts(stage) if rack is None or name != "dry_weighed"],
        "cautions": kind.cautions(settings, StageFacts(title=stage.batch.title)),
    }
    if rack is None:
        return context
    return context | {
        "now": rack.now.figures() if rack.now else None,
        "expected": rack.expected.figures() if rack.expected else None,
        "pace": rack.pace.figures() if rack.pace else None,
        "weigh_form": forms.DryWeighedForm(stage=stage),
    }


PANELS = {"dry": dry_panel}

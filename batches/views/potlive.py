"""The pot at work: one page that stays open, reads itself anew, and takes readings, top-ups and stirrings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from batches import bell
from batches.models import Stage, StageAct
from batches.queries.batch import story
from batches.queries.pot_alarm import alarms
from batches.views.pot import decoct_panel
from batches.views.registry import ACTS
from workshop import clock
from workshop.people import rights
from workshop.reminders.queries import next_due
from workshop.web import Done, act, door, fresh_key, page_or_part

BY_HAND = ("pot_reading", "topped_to_line", "stirred", "pause", "resume")
LINES = 6


@door(rights.BENCH, "GET", "POST")
def pot_live(request: HttpRequest, number: int, order: int) -> HttpResponse:
    """The page; its part to htmx; an act by POST, named by `act`."""
    stage = _stage(number, order)
    name = request.POST.get("act", BY_HAND[0])
    if name not in BY_HAND:
        raise Http404(f"There is no act “{name}” at the pot.")
    spec = ACTS[name]
    form = spec.form(request.POST or None, stage=stage)
    if request.method == "POST":
        done = act(request, form, name=f"stage.{name}", do=lambda at: _run(request, stage, name, form, at))
        if done is not None:
            return done
    context = _context(stage) | {"form": form, "refused": name if form.errors else ""}
    return page_or_part(request, "batches/pot_live.html", "batches/_pot_live.html", context)


@door(rights.BENCH, "GET")
def pot_now(request: HttpRequest, number: int, order: int) -> HttpResponse:
    """What the pot is doing now: the part that reads itself anew and leaves alone what is being typed."""
    return render(request, "batches/_pot_now.html", _context(_stage(number, order)))


def _run(request: HttpRequest, stage: Stage, name: str, form: Any, at: datetime) -> Done:
    result: StageAct = ACTS[name].do(stage=stage, by=request.user, at=at, **form.values())
    here = reverse("batches:pot", args=[stage.batch.number, stage.order])
    return Done(here, result.caption, f"{reverse('batches:undo-act', args=[result.pk])}?back={here}")


def _stage(number: int, order: int) -> Stage:
    rows = Stage.objects.select_related("batch__version__formula", "batch__herb")
    return get_object_or_404(rows, batch__number=number, order=order, kind="decoct")


def _context(stage: Stage) -> dict[str, Any]:
    at = clock.now()
    context: dict[str, Any] = {"stage": stage, "batch": stage.batch, "at": at, "pot": None}
    if stage.state != Stage.State.OPEN:
        return context
    context |= decoct_panel(stage)
    pot = context["pot"]
    if pot is None:
        return context
    due = next_due(key=bell.key_of(stage, "watch"), at=at) if pot.paused_at is None else None
    look_at = due.due_at if due else None
    return context | {
        "look_at": look_at,
        "alarms": alarms(pot, at=at, look_at=look_at),
        "lines": [line for line in story(stage.batch) if line.act.stage_id == stage.pk][:LINES],
        "keys": fresh_key,
    }

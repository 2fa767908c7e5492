"""Any act at any stage: one view, the specs say the rest."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode

from batches.models import Stage, StageAct
from batches.queries.batch import acts_at
from batches.views.registry import ACTS
from batches.views.spec import ActSpec
from workshop.drafts import way_back
from workshop.fields import begun
from workshop.people import rights
from workshop.web import Done, act, door, not_allowed, page_or_part


@door(rights.BENCH, "GET", "POST")
def stage_act(request: HttpRequest, number: int, order: int, name: str) -> HttpResponse:
    """The form of an act (GET), or the act itself (POST)."""
    stage = _stage(number, order)
    spec = _spec(stage, name)
    if not rights.may(request.user, spec.right):  # type: ignore[arg-type]
        return not_allowed(request, spec.right)
    form = spec.form(
        request.POST or None, request.FILES or None, stage=stage, initial=begun(spec.form, request.GET)
    )
    if "look" in request.POST or "look" in request.GET:
        return _look(request, spec, stage, form)
    if request.method == "POST":
        done = act(
            request,
            form,
            name=f"stage.{name}",
            do=lambda at: _run(request, spec, stage, form, at),
        )
        if done is not None:
            return done
    context = {"stage": stage, "batch": stage.batch, "spec": spec, "form": form, **spec.context(stage)}
    context["warned"] = spec.cautions(stage, getattr(form, "cleaned_data", {}))
    return render(request, spec.template, context, status=409 if form.errors else 200)


def _look(request: HttpRequest, spec: ActSpec, stage: Stage, form: Any) -> HttpResponse:
    """What the values typed so far lead to; nothing is saved, and nothing typed is judged yet."""
    form.expect_nothing()
    form.is_valid()
    figures = spec.look(stage, form.cleaned_data) if spec.look is not None and form.is_bound else []
    warned = spec.cautions(stage, form.cleaned_data) if form.is_bound else ()
    form.errors.clear()
    context = {"stage": stage, "batch": stage.batch, "spec": spec, "form": form, "figures": figures}
    context["warned"] = warned
    context["look_url"] = request.path
    return page_or_part(
        request, spec.template, "batches/_act_look.html", context | spec.context(stage), status=200
    )


def _run(request: HttpRequest, spec: ActSpec, stage: Stage, form: Any, at: datetime) -> Done:
    result = spec.do(stage=stage, by=request.user, at=at, **form.values())
    back = way_back(request, "")
    undo = reverse("batches:undo-act", args=[result.pk]) if isinstance(result, StageAct) else ""
    if undo and back:
        undo += f"?{urlencode({'back': back})}"
    url = back or reverse("batches:batch", args=[stage.batch.number])
    if spec.after is not None:
        url = spec.after(stage, result) or url
    return Done(url, spec.said or getattr(result, "caption", ""), undo)


def _stage(number: int, order: int) -> Stage:
    found = Stage.objects.select_related("batch__version__formula", "batch__herb")
    return get_object_or_404(found, batch__number=number, order=order)


def _spec(stage: Stage, name: str) -> ActSpec:
    if name not in acts_at(stage) or name not in ACTS:
        raise Http404(f"There is no act “{name}” at this stage.")
    return ACTS[name]

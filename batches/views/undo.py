"""Undo an act of a batch: what goes with it is shown first, latest first, all of it or nothing."""

from __future__ import annotations

from datetime import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from batches.actions.undo import rests_on, undo_acts
from batches.forms.undo import UndoForm
from batches.models import StageAct
from batches.queries.batch import act_of_posting
from batches.queries.bottling import run_of_posting
from workshop.drafts import way_back
from workshop.people import rights
from workshop.web import Done, act, door


@door(rights.BENCH)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """By the posting that the act led to."""
    found = act_of_posting(pk)
    run = run_of_posting(pk) if found is None else None
    if run is not None:
        return redirect("batches:run-act", pk=run.pk, name="undone")
    if found is None:
        raise Http404("There is no act of a batch behind this entry.")
    return _undo(request, found)


@door(rights.BENCH)
def undo_one(request: HttpRequest, pk: int) -> HttpResponse:
    """By the act itself."""
    found = StageAct.objects.select_related("stage__batch", "by")
    return _undo(request, get_object_or_404(found, pk=pk))


def _undo(request: HttpRequest, one: StageAct) -> HttpResponse:
    """From the line that reports an act a lone one goes at one tap; what others rest on is shown first."""
    order = rests_on(one)
    seen = " ".join(str(each.pk) for each in order)
    url = way_back(request, reverse("batches:batch", args=[one.stage.batch.number]))
    form = UndoForm(_sent(request, seen, lone=len(order) == 1), initial={"seen": seen})

    def do(at: datetime) -> Done:
        given = form.cleaned_data
        undo_acts(act=one, seen=form.seen_pks(), reason=given["reason"], by=request.user, at=at)  # type: ignore[arg-type]
        return Done(url, f"Undone: {one.caption}." if len(order) == 1 else f"{len(order)} acts undone.")

    done = act(request, form, name=f"undo act {one.pk}", do=do) if form.is_bound else None
    context = {"form": form, "act": one, "order": order, "back": url, "batch": one.stage.batch}
    return done or render(request, "batches/undo.html", context, status=409 if form.errors else 200)


def _sent(request: HttpRequest, seen: str, *, lone: bool) -> dict[str, str] | None:
    if "once_key" in request.POST:
        return request.POST.dict()  # type: ignore[return-value]
    if request.method == "POST" and lone:
        return {"once_key": f"undo-{request.path}", "seen": seen, "reason": ""}
    return None

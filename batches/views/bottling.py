"""Bottling runs: opened at the batch or from a bulk lot, filled, closed, dropped, undone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from batches.actions import bottling, filling
from batches.actions.undo import undo_run
from batches.forms import bottling as forms
from batches.models import BottlingRun, Stage
from batches.queries import bottling as look
from batches.views.spec import ActSpec
from inventory.queries.lots import by_code, status_of
from workshop.people import rights
from workshop.people.models import Person
from workshop.web import ActForm, act, door


def _open(*, stage: Stage, by: Person, at: datetime, **given: Any) -> BottlingRun:
    batch = look.batch_of(given["bulk"])
    return bottling.open_run(stage=stage if batch in (None, stage.batch) else None, by=by, at=at, **given)


def run_url(run: BottlingRun) -> str:
    return reverse("batches:run", args=[run.pk])


ACTS = [
    ActSpec(
        "open_run",
        "Open a run",
        "Open a bottling run",
        _open,
        forms.OpenRunForm,
        icon="bottle",
        after=lambda stage, run: run_url(run),
    ),
    ActSpec(
        "all_bottled",
        "All is bottled",
        "The bottling is over",
        bottling.all_bottled,
        icon="done",
        quick=True,
        said="The bottling is over.",
    ),
]


def bottle_panel(stage: Stage) -> dict[str, Any]:
    """The bulk that waits, its runs, and whether the bottling can end."""
    batch = stage.batch
    bulk = look.own_bulk(batch)
    runs = look.runs_of(batch)
    return {
        "bulk": bulk,
        "bulk_ml": look.volume_ml(bulk.lot, bulk.on_hand) if bulk else None,
        "runs": runs,
        "waiting": [run for run in runs if run.state in ("open", "filled")],
        "closed": [run for run in runs if run.state == "closed"],
    }


PANELS = {"bottle": bottle_panel}


@door(rights.BENCH)
def run_new(request: HttpRequest, code: str) -> HttpResponse:
    """A run from a bulk lot, also long after its batch is done."""
    bulk = by_code(code)
    if bulk is None:
        raise Http404("There is no lot with this code.")
    form = forms.OpenRunForm(request.POST or None, stage=look.bottle_stage(look.batch_of(bulk)), bulk=bulk)

    def do(at: datetime) -> str:
        return run_url(bottling.open_run(by=request.user, at=at, **form.values()))  # type: ignore[arg-type]

    done = act(request, form, name=f"open_run {code}", do=do) if form.is_bound else None
    context = {"form": form, "title": f"Bottle from {code}", "button": "Open the run"}
    back = reverse("inventory:lot", args=[code])
    return done or render(
        request, "batches/bottling_form.html", context | {"back": back}, status=_status(form)
    )


@dataclass(frozen=True, slots=True)
class RunAct:
    """One act at a run: its words, its form, its action."""

    title: str
    button: str
    form: type[forms.RunForm]
    do: Callable[..., Any]
    said: str
    hint: str = ""


RUN_ACTS: dict[str, RunAct] = {
    "filled": RunAct(
        "What came of it?", "Filled", forms.FilledForm, filling.filled, "Filled and counted.",
        "Count the full bottles. Weigh a few of them to know the overfill.",
    ),
    "closed": RunAct(
        "Where did every label go?", "Labels accounted for", forms.CloseForm, bottling.close_run,
        "Every label is accounted for.", "Labels left over are destroyed, so that none lands on another lot.",
    ),
    "dropped": RunAct("Drop this run?", "Drop it", forms.DropForm, bottling.drop_run, "The run is dropped."),
    "undone": RunAct(
        "Undo the filling?", "Undo the filling", forms.UndoRunForm, undo_run, "The filling is undone.",
        "Bulk, bottles and closures stand as before; the lot keeps its code and its printed labels.",
    ),
}  # fmt: skip


@door(rights.BENCH)
def run_act(request: HttpRequest, pk: int, name: str) -> HttpResponse:
    """The form of an act at a run (GET), or the act (POST)."""
    run, spec = the_run(pk), RUN_ACTS.get(name)
    if spec is None:
        raise Http404(f"There is no act “{name}” at a bottling run.")
    form = spec.form(request.POST or None, run=run)

    def do(at: datetime) -> str:
        spec.do(run=run, by=request.user, at=at, **form.values())
        return run_url(run)

    done = act(request, form, name=f"run.{name} {pk}", do=do, said=spec.said) if form.is_bound else None
    context = {"form": form, "run": run, "title": spec.title, "hint": spec.hint, "button": spec.button}
    account = look.printed_of(run) if name == "closed" else None
    context |= {"back": run_url(run), "printed": account}
    return done or render(request, "batches/bottling_form.html", context, status=_status(form))


@door(rights.SEE, "GET")
def run(request: HttpRequest, pk: int) -> HttpResponse:
    """A run as it stands, with its next act."""
    one = the_run(pk)
    bulk_g = look.on_hand_of(one.bulk)
    context = {
        "run": one,
        "batch": one.batch,
        "prints": list(one.prints.select_related("by")),
        "printed": look.printed_of(one),
        "status": status_of(one.finished) if one.finished else "",
        "may_decide": rights.may(request.user, rights.DECIDE),  # type: ignore[arg-type]
        "release": ActForm(auto_id=False),
        "bulk_g": bulk_g,
        "plan": look.plan_of(one.bulk, bulk_g, fill_ml=one.fill_ml, loss=0.0)
        if one.state == "open"
        else None,
        "losses": look.losses_of(one),
        "moved_abv": look.strength_moved(one),
    }
    if context["plan"] is not None:
        context["figures"] = context["plan"].figures()
    return render(request, "batches/bottling_run.html", context)


def the_run(pk: int) -> BottlingRun:
    return get_object_or_404(look.runs(), pk=pk)


def _status(form: Any) -> int:
    return 409 if form.errors else 200

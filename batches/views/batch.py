"""The batch page: its stages with the current one open, its lots, its story."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from batches.models import Batch
from batches.queries import batch as look
from batches.views.registry import ACTS, PANELS
from workshop.people import rights
from workshop.web import ActForm, door


@door(rights.SEE, "GET")
def batch_page(request: HttpRequest, number: int) -> HttpResponse:
    batch = look.batch_by_number(number)
    if batch is None:
        raise Http404("There is no batch with this number.")
    return render(request, "batches/batch_page.html", _context(batch))


def _context(batch: Batch) -> dict[str, Any]:
    rows = look.stage_rows(batch)
    current = look.current_stage(rows)
    context: dict[str, Any] = {
        "batch": batch,
        "rows": rows,
        "current": current,
        "story": look.story(batch),
        "lots": look.held_lots(batch),
        "vessels": look.vessels_now(batch),
        "quick_form": ActForm(auto_id=False),
        "second_key": ActForm(auto_id=False),
    }
    if current is not None:
        stage = current.stage
        context["offers"] = [ACTS[name] for name in current.kind.acts if name in ACTS]
        context["panel"] = f"batches/stages/_{stage.kind}.html"
        context |= PANELS[stage.kind](stage) if stage.kind in PANELS else {}
    return context


@door(rights.SEE, "GET")
def batch_list(request: HttpRequest) -> HttpResponse:
    batches = Batch.objects.select_related("version__formula", "herb").prefetch_related("stages")[:100]
    return render(request, "batches/batch_list.html", {"batches": batches})

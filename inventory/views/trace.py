"""Where a lot came from and where it went."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from inventory.calc import trace
from inventory.calc.balances import unit_of
from inventory.calc.codes import BadCode, has_shape, read_code
from inventory.documents import trace_words
from inventory.documents.trace_flow import the_flow
from inventory.models import Lot
from inventory.queries.lots import by_code
from inventory.queries.trace import Traced, find_lots, the_trace
from inventory.views.common import asked_text, the_lot
from workshop.charts.flow import flow_svg
from workshop.kept import kept
from workshop.measures import measures
from workshop.models import Workshop
from workshop.people import rights
from workshop.web import door


@door(rights.SEE, "GET")
def trace_start(request: HttpRequest) -> HttpResponse:
    """Pick the lot: by code, by the goods, or by the supplier's own lot."""
    words = asked_text(request, "q", 80)
    wrong, code = "", ""
    if words and has_shape(words):
        try:
            code = read_code(words)
        except BadCode as refusal:
            wrong = str(refusal)
    if code and by_code(code) is not None:
        return redirect("inventory:trace", code=code)
    context = {"words": words, "wrong": wrong, "lots": find_lots(code or words)}
    return render(request, "inventory/trace_start.html", context)


@door(rights.SEE, "GET")
def trace_lot(request: HttpRequest, code: str) -> HttpResponse:
    """The whole trace of a lot on one page; kept while nothing is written, for all who read alike."""
    lot, whole, workshop = the_lot(code), "all" in request.GET, request.the_workshop  # type: ignore[attr-defined]
    told = kept(("trace", lot.pk, whole, measures()), lambda: _told(lot, workshop, whole=whole))
    return render(request, "inventory/trace_lot.html", {"lot": lot, "told": told})


def _told(lot: Lot, workshop: Workshop, *, whole: bool) -> SafeString:
    told = the_trace(lot)
    unit = unit_of(counted=lot.material.counted)
    context = {
        "told": told,
        "lot": told.lot,
        "opening": trace_words.opening(told).partition(lot.code),
        "accounted": trace.accounted_figure(told.account, unit=unit, code=lot.code),
        "unexplained": trace_words.unexplained(told),
        "flow": flow_svg(the_flow(told)),
        "account_rows": trace_words.account_rows(told),
        "own_rows": trace_words.own_rows(told),
        "the_workshop": workshop,
    }
    return render_to_string("inventory/_trace_told.html", context | _tables(told, whole=whole))


TABLES = ("in_rows", "out_rows", "here_rows")
MOST_ROWS = 150


def _tables(told: Traced, *, whole: bool) -> dict[str, Any]:
    """The long tables, folded unless all is asked for. Who has it is never folded: a recall reads it."""
    rows = {name: getattr(trace_words, name)(told) for name in TABLES}
    if whole:
        return rows
    folded = sum(max(0, len(found) - MOST_ROWS) for found in rows.values())
    return {name: found[:MOST_ROWS] for name, found in rows.items()} | {"folded": folded}

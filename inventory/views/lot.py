"""One lot: its facts, its places, its story, and what may be done with it."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.actions.decide import decide_lot
from inventory.calc.codes import has_shape
from inventory.calc.costing import Cost
from inventory.forms.decide import DecideForm
from inventory.models import Decision, Lot
from inventory.queries import lots, stock, story
from inventory.queries.costs import cost_of, money
from inventory.views.common import form_page, the_lot, today
from workshop.people import rights
from workshop.web import act, door


@door(rights.SEE, "GET")
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """The whole story of a lot in one page."""
    one = the_lot(code)
    status = lots.status_of(one)
    held = lots.holdings(one)
    context = {
        "lot": one,
        "status": status,
        "status_word": Decision.Status(status).label,
        "holdings": held,
        "left": sum((each.on_hand for each in held), stock.NOTHING),
        "crumbs": lots.crumbs(one, held),
        "expired": one.expired(today()),
        "story": story.story(one),
        "may_decide": rights.may(request.user, rights.DECIDE),  # type: ignore[arg-type]
        "cost": _cost(request, one),
        "release": DecideForm(initial={"status": Decision.Status.RELEASED}),
    }
    return render(request, "inventory/lot.html", context)


def _cost(request: HttpRequest, lot: Lot) -> Cost | None:
    """What it cost, for the owner of a workshop that keeps prices."""
    code = money() if rights.may(request.user, rights.OWN) else ""  # type: ignore[arg-type]
    return cost_of(lot, code) if code and lot.material.metered else None


@door(rights.SEE, "GET")
def received(request: HttpRequest) -> HttpResponse:
    """The lots of one delivery, their codes large enough to copy onto the bags."""
    codes = [code for code in request.GET.get("lots", "").split(",")[:30] if has_shape(code)]
    found = list(Lot.objects.filter(code__in=codes).select_related("material").with_status().order_by("pk"))
    return render(request, "inventory/received.html", {"lots": found})


@door(rights.DECIDE)
def decide(request: HttpRequest, code: str) -> HttpResponse:
    """Release, hold, reject, or back to quarantine."""
    one = the_lot(code)
    form = DecideForm(request.POST or None, initial={"status": request.GET.get("to")})

    def do(at: datetime) -> str:
        decide_lot(lot=one, **form.values(), by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("inventory:lot", args=[one.code])

    done = act(request, form, name=f"decide {one.code}", do=do, said="Decided.") if request.POST else None
    return done or form_page(
        request,
        form,
        opening="What shall become of this lot?",
        act="Decided",
        back=reverse("inventory:lot", args=[one.code]),
        lot=one,
    )

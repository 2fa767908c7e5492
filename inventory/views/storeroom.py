"""The storeroom: what is there, what waits, what runs out of time; and finding one lot."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.models import Decision, Material
from inventory.queries import search, stock
from inventory.views.common import asked_text, today
from workshop.people import rights
from workshop.web import door, page_or_part


@door(rights.SEE, "GET")
def storeroom(request: HttpRequest) -> HttpResponse:
    """Lots in stock, by kind and by what they wait for; one line finds any of them."""
    asked = {name: asked_text(request, name) for name in ("find", "kind", "status")}
    if asked["find"] and search.has_shape(asked["find"]):
        found = search.find(asked["find"])
        if found.lot is not None:
            return redirect("inventory:lot", code=found.lot.code)
    day = today()
    shown = stock.lots(
        today=day,
        **asked,
        soon="soon" in request.GET,
        used_up="used_up" in request.GET,
        page=_number(request.GET.get("page", "1")),
    )
    context = {
        "asked": asked | {"soon": "soon" in request.GET, "used_up": "used_up" in request.GET},
        "shown": shown,
        "glance": stock.glance(day),
        "kinds": [(kind, Material.Kind(kind).label) for kind in stock.kinds_in_stock()],
        "sentence": search.find(asked["find"]).sentence if asked["find"] and not shown.rows else "",
        "status_word": dict(Decision.Status.choices).get(asked["status"], ""),
    }
    return page_or_part(request, "inventory/storeroom.html", "inventory/_lot_list.html", context)


@door(rights.SEE, "GET")
def scan(request: HttpRequest) -> HttpResponse:
    """A typed or scanned code or address leads to its lot; what does not fit is said in a sentence."""
    typed = asked_text(request, "code")
    found = search.find(typed) if typed.strip() else None
    if found is not None and found.lot is not None:
        return redirect("inventory:lot", code=found.lot.code)
    return render(request, "inventory/scan.html", {"typed": typed, "found": found})


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 1

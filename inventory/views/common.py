"""What the storeroom's views share."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.calc.codes import BadCode, read_code
from inventory.calc.days import day_of
from inventory.models import Lot
from inventory.queries import lots
from workshop import clock
from workshop.models import Workshop
from workshop.web import ActForm


def today() -> date:
    """The workshop's day."""
    return day_of(clock.now(), Workshop.objects.get().tz)


def the_lot(code: str) -> Lot:
    """The lot of an address, however its code is spelled; a page that says so when there is none."""
    try:
        lot = lots.by_code(read_code(code))
    except BadCode as refusal:
        raise Http404(str(refusal)) from refusal
    if lot is None:
        raise Http404(f"{code} is a lot code that was never given out here.")
    return lot


def form_page(
    request: HttpRequest,
    form: ActForm,
    *,
    opening: str,
    act: str,
    back: str,
    more: str = "",
    lot: Lot | None = None,
    blind: bool = False,
) -> HttpResponse:
    """A page with one form: its sentence, its fields, its act. 422 when something typed is wrong.

    Beside it stand the facts of `lot`; `blind` leaves out how much of it the book says there is.
    """
    context = {"form": form, "opening": opening, "act": act, "back": back, "more": more}
    context |= {"lot": lot, "blind": blind}
    if lot is not None:
        context |= {"holdings": lots.holdings(lot)}
    return render(request, "inventory/form_page.html", context, status=422 if form.errors else 200)


def asked_text(request: HttpRequest, name: str, most: int = 200) -> str:
    """What the address asks for. A NUL, which no keyboard types, would stop the database."""
    return request.GET.get(name, "").replace("\x00", "").strip()[:most]


def asked_for(request: HttpRequest, *names: str) -> dict[str, str]:
    """What the address fills into a form that is opened: text, to be judged only when it is sent."""
    return {name: asked_text(request, name, 80) for name in names if name in request.GET}

"""Taking in a harvest."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inventory.actions.harvest import harvest_lot
from inventory.forms.harvest import HarvestForm
from inventory.forms.lots import kept
from inventory.views.common import form_page, today
from workshop.calc.rounding import to_stock
from workshop.people import rights
from workshop.web import act, door

CARE = "Only what you know for certain, and only where you may gather. Weigh it before anything is cut off."


@door(rights.BENCH)
def harvest(request: HttpRequest) -> HttpResponse:
    form = HarvestForm(request.POST or None, today=today())
    done = None
    if form.is_bound:
        said = "It is in the book. Dry it, or take it to a jar while it is fresh."
        done = act(request, form, name="harvest", do=lambda at: _harvest(request, form, at), said=said)
    return done or form_page(
        request,
        form,
        opening="What was gathered?",
        act="Harvested",
        back=reverse("inventory:storeroom"),
        more=CARE,
    )


def _harvest(request: HttpRequest, form: HarvestForm, at: datetime) -> str:
    given = form.values()
    typed, moisture = given.pop("amount"), given.pop("moisture")
    lot = harvest_lot(
        **given,
        amount=to_stock(float(typed.base)),
        moisture=float(moisture.base) / 100,
        as_entered=kept(typed),
        by=request.user,  # type: ignore[arg-type]
        at=at,
        key=form.cleaned_data["once_key"],
    )
    return reverse("inventory:lot", args=[lot.code])

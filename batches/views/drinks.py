"""Standard drinks and the thresholds of leaflets: the tables, and the workshop's own figure."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.calc.drinks import DRINKS, EU_2003, EU_2019
from batches.forms.drinks import DrinkForm, as_typed, own_drink
from workshop.people import rights, staff
from workshop.web import act, door


@door(rights.OWN)
def drinks(request: HttpRequest) -> HttpResponse:
    shop = request.the_workshop  # type: ignore[attr-defined]
    form = DrinkForm(request.POST or None, initial=as_typed(shop.drink))

    def do(at: datetime) -> str:
        staff.change_workshop(facts={"drink": form.kept()}, by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:drinks")

    done = act(request, form, name="change drink", do=do, said="The reckoner starts from this now.")
    if done is not None:
        return done
    context = {"form": form, "own": own_drink(shop.drink), "rows": DRINKS, "steps": (*EU_2003, *EU_2019)}
    return render(request, "batches/drinks.html", context, status=422 if form.errors else 200)

"""Receiving a delivery."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.actions.receive import receive_delivery
from inventory.forms.fields import goods, places
from inventory.forms.receive import DeliveryForm
from inventory.queries.costs import money
from inventory.views.common import today
from workshop.people import rights
from workshop.web import act, door


@door(rights.BENCH)
def receive(request: HttpRequest) -> HttpResponse:
    """One form for a delivery; "Another line" shows it again with all that was typed."""
    day = today()
    code = money() if rights.may(request.user, rights.OWN) else ""  # type: ignore[arg-type]
    if request.method == "POST" and "another" not in request.POST:
        form = DeliveryForm(request.POST, today=day, money=code)
        done = act(request, form, name="receive", do=lambda at: _receive(request, form, at), said="Received.")
        return done or _page(request, form)
    more = 1 if "another" in request.POST else 0
    return _page(request, DeliveryForm(today=day, typed=request.POST or None, more=more, money=code))


def _receive(request: HttpRequest, form: DeliveryForm, at: datetime) -> str:
    given = form.cleaned_data
    lots = receive_delivery(
        supplier=given["supplier"],
        new_supplier=given["new_supplier"],
        arrived_on=given["arrived_on"],
        delivery_note=given["delivery_note"],
        lines=form.delivered(),
        by=request.user,  # type: ignore[arg-type]
        at=at,
        key=given["once_key"],
    )
    if len(lots) == 1:
        return reverse("inventory:lot", args=[lots[0].code])
    return reverse("inventory:received") + "?lots=" + ",".join(lot.code for lot in lots)


def _page(request: HttpRequest, form: DeliveryForm) -> HttpResponse:
    context = {"form": form, "no_goods": not goods().exists(), "no_places": not places().exists()}
    return render(request, "inventory/receive.html", context, status=422 if form.errors else 200)

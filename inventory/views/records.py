"""Goods, places, suppliers and customers: their lists and their forms."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.actions.materials import add_goods, change_goods
from inventory.actions.parties import add_party, change_party
from inventory.actions.places import add_place, change_place
from inventory.forms.records import GoodsForm, PartyForm, PlaceForm, as_typed, goods_as_typed
from inventory.models import Material, Party, Place
from inventory.queries import stock
from inventory.views.common import form_page
from workshop.people import rights
from workshop.web import act, door

RecordForm = GoodsForm | PlaceForm | PartyForm


def _edit(
    request: HttpRequest,
    form: RecordForm,
    do: Callable[..., Any],
    *,
    opening: str,
    word: str,
    back: str,
    **row: Any,
) -> HttpResponse:
    """Show the form, or hand what was typed to its one action and go back to the list."""

    def save(at: datetime) -> str:
        do(by=request.user, at=at, **row, **form.facts())
        return reverse(back)

    done = act(request, form, name=f"{do.__name__} {row}", do=save, said="Saved.") if form.is_bound else None
    return done or form_page(request, form, opening=opening, act=word, back=reverse(back))


MADE_HERE = (Material.Kind.IN_PROCESS, Material.Kind.BULK, Material.Kind.PRODUCT)


@door(rights.SEE, "GET")
def goods(request: HttpRequest) -> HttpResponse:
    """All goods in use, with what is left of each; of what is made here, only what there is."""
    left = stock.left_by_material()
    found = Material.objects.filter(archived=False).order_by("name", "part", "pk")
    rows = [(one, left.get(one.pk)) for one in found]
    made = [(one, rest) for one, rest in rows if one.kind in MADE_HERE and rest]
    bought = [(one, rest) for one, rest in rows if one.kind not in MADE_HERE]
    return render(request, "inventory/goods.html", {"bought": bought, "made": made})


@door(rights.BENCH)
def goods_add(request: HttpRequest) -> HttpResponse:
    form = GoodsForm(request.POST or None)
    opening = "What do you want to keep in stock?"
    return _edit(request, form, add_goods, opening=opening, word="Add it", back="inventory:goods")


@door(rights.BENCH)
def goods_change(request: HttpRequest, pk: int) -> HttpResponse:
    material = get_object_or_404(Material, pk=pk)
    form = GoodsForm(request.POST or None, initial=goods_as_typed(material))
    return _edit(
        request,
        form,
        change_goods,
        opening=f"{material}, as it is kept.",
        word="Save the change",
        back="inventory:goods",
        material=material,
    )


@door(rights.SEE, "GET")
def places(request: HttpRequest) -> HttpResponse:
    """All places in use, in the order of the walk."""
    found = Place.objects.filter(archived=False).order_by("walk", "name", "pk")
    return render(request, "inventory/places.html", {"places": found})


@door(rights.BENCH)
def place_add(request: HttpRequest) -> HttpResponse:
    form = PlaceForm(request.POST or None)
    return _edit(
        request, form, add_place, opening="Where do things stand?", word="Add it", back="inventory:places"
    )


@door(rights.BENCH)
def place_change(request: HttpRequest, pk: int) -> HttpResponse:
    place = get_object_or_404(Place, pk=pk)
    form = PlaceForm(request.POST or None, initial=as_typed(place, PlaceForm))
    return _edit(
        request,
        form,
        change_place,
        opening=f"{place}, as it stands.",
        word="Save the change",
        back="inventory:places",
        place=place,
    )


@door(rights.SEE, "GET")
def parties(request: HttpRequest) -> HttpResponse:
    """Suppliers and customers."""
    found = Party.objects.filter(archived=False).order_by("name", "pk")
    return render(request, "inventory/parties.html", {"parties": found})


@door(rights.BENCH)
def party_add(request: HttpRequest) -> HttpResponse:
    form = PartyForm(request.POST or None)
    opening = "Whom do you buy from or sell to?"
    return _edit(request, form, add_party, opening=opening, word="Add them", back="inventory:parties")


@door(rights.BENCH)
def party_change(request: HttpRequest, pk: int) -> HttpResponse:
    party = get_object_or_404(Party, pk=pk)
    form = PartyForm(request.POST or None, initial=as_typed(party, PartyForm))
    return _edit(
        request,
        form,
        change_party,
        opening=f"{party}, as we know them.",
        word="Save the change",
        back="inventory:parties",
        party=party,
    )

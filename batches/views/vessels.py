"""Vessels: where they stand, adding, changing, putting away."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from batches.actions import vessels as actions
from batches.forms.vessels import VesselForm, as_typed
from batches.models import Vessel
from batches.queries.vessels import Standing, sitting_in, standing_vessels
from inventory.models import Place
from workshop.charts.shelf import PlaceShelf, Shelf, VesselDrawing, shelf_svg
from workshop.measures import measures
from workshop.people import rights
from workshop.web import ActForm, act, door


@door(rights.SEE, "GET")
def vessel_list(request: HttpRequest) -> HttpResponse:
    rows = standing_vessels()
    context = {
        "rows": rows,
        "free": sum(1 for row in rows if row.free),
        "wide": shelf_svg(_shelf(rows), width=880),
        "narrow": shelf_svg(_shelf(rows), width=340, key="narrow"),
        "away": standing_vessels(archived=True),
    }
    return render(request, "batches/vessel_list.html", context)


def _shelf(rows: list[Standing]) -> Shelf:
    places: dict[int, tuple[Place, list[VesselDrawing]]] = {}
    for row in rows:
        places.setdefault(row.vessel.place_id, (row.vessel.place, []))[1].append(_drawn(row))
    return Shelf([PlaceShelf(place.name, place.kind, drawn) for place, drawn in places.values()])


def _drawn(row: Standing) -> VesselDrawing:
    vessel, batch = row.vessel, row.occupancy.stage.batch if row.occupancy else None
    tint = batch.herb.tint if batch and batch.herb else ""
    return VesselDrawing(
        tag=vessel.tag,
        form=vessel.form,
        capacity_ml=vessel.capacity_ml,
        level=0.75 if batch else 0.0,
        marc=0.0,
        tint=tint,
        title=measures().shown(vessel.capacity_ml, "mL", 0),
        phrase=f"batch {batch.number}" if batch else "free",
        url=reverse("batches:vessel", args=[vessel.pk]),
    )


@door(rights.BENCH)
def vessel_new(request: HttpRequest) -> HttpResponse:
    form = VesselForm(request.POST or None, person=request.user)  # type: ignore[arg-type]
    if request.method == "POST":

        def add(at: Any) -> str:
            actions.add_vessel(by=request.user, at=at, **form.facts())  # type: ignore[arg-type]
            return reverse("batches:vessels")

        done = act(request, form, name="vessel-new", do=add, said="It stands on the shelf.")
        if done is not None:
            return done
    return render(request, "batches/vessel_form.html", {"form": form}, status=422 if form.errors else 200)


@door(rights.BENCH)
def vessel(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Vessel.objects.select_related("place"), pk=pk)
    person: Any = request.user
    form = VesselForm(request.POST or None, person=person, initial=as_typed(found, person))
    if request.method == "POST":

        def change(at: Any) -> str:
            actions.change_vessel(vessel=found, by=person, at=at, **form.facts())
            return reverse("batches:vessels")

        done = act(request, form, name="vessel", do=change, said="Changed.")
        if done is not None:
            return done
    context = {
        "form": form,
        "vessel": found,
        "sitting": sitting_in(found),
        "away_form": ActForm(auto_id=False),
    }
    return render(request, "batches/vessel_form.html", context, status=422 if form.errors else 200)


@door(rights.BENCH, "POST")
def vessel_away(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Vessel, pk=pk)
    form = ActForm(request.POST)

    def put(at: Any) -> str:
        actions.put_away_vessel(vessel=found, away=not found.archived, by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:vessels")

    done = act(request, form, name="vessel-away", do=put)
    if done is not None:
        return done
    for sentences in form.errors.values():
        messages.error(request, str(sentences[0]))
    return redirect("batches:vessel", pk=pk)

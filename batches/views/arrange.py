"""The shelf arranged by tapping: take a vessel in hand, tap where it goes; a place earlier or later."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import vessels as actions
from batches.forms.arrange import StandForm, WalkForm
from batches.queries.arrange import in_hand, walk
from inventory.actions.places import walk_place
from workshop.forms import ActForm
from workshop.people import rights
from workshop.web import Done, act, door, fresh_key


@door(rights.BENCH, "GET")
def arrange(request: HttpRequest) -> HttpResponse:
    return _page(request, request.GET.get("vessel", ""))


def _page(request: HttpRequest, vessel: str, form: ActForm | None = None) -> HttpResponse:
    """The page; after a refusal with its sentence on top."""
    stops = walk()
    context = {"stops": stops, "hand": in_hand(stops, vessel), "form": form, "fresh_key": fresh_key}
    return render(request, "batches/arrange.html", context, status=409 if form and form.errors else 200)


@door(rights.BENCH, "POST")
def arrange_vessel(request: HttpRequest) -> HttpResponse:
    form = StandForm(_sent(request))

    def stand(at: datetime) -> Done:
        vessel, (place, before) = form.cleaned_data["vessel"], form.cleaned_data["to"]
        was, after = actions.stand_vessel(
            vessel=vessel,
            place=place,
            before=before,
            by=request.user,  # type: ignore[arg-type]
            at=at,
        )
        to = f"{was.pk}:{after.pk}" if after else f"{was.pk}"
        where = f"before {before}" if before else f"at {place}"
        back = _address("batches:arrange-vessel", vessel=vessel.pk, to=to)
        return Done(f"{reverse('batches:arrange')}#place-{place.pk}", f"{vessel} stands {where} now.", back)

    done = act(request, form, name="arrange.vessel", do=stand)
    return done or _page(request, form["vessel"].value() or "", form)


@door(rights.BENCH, "POST")
def arrange_place(request: HttpRequest) -> HttpResponse:
    form = WalkForm(_sent(request))

    def move(at: datetime) -> Done:
        place = form.cleaned_data["place"]
        walk_place(place=place, steps=form.steps, by=request.user, at=at)  # type: ignore[arg-type]
        way = form.cleaned_data["way"]
        back = "later" if way == "earlier" else "earlier"
        undo = _address("batches:arrange-place", place=place.pk, way=back)
        here = f"{reverse('batches:arrange')}#place-{place.pk}"
        return Done(here, f"{place} comes {way} in the walk now.", undo)

    return act(request, form, name="arrange.place", do=move) or _page(request, "", form)


def _sent(request: HttpRequest) -> dict[str, Any]:
    """What was tapped, or, for an undoing, what its address says."""
    return request.GET.dict() | {"once_key": fresh_key()} | request.POST.dict()


def _address(name: str, **what: Any) -> str:
    return f"{reverse(name)}?{urlencode(what, safe=':')}"

"""The first visit."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from django.contrib import auth
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import guard, setup, throttle
from workshop.people.fields import zones
from workshop.people.forms.entering import SetupCodeForm, SetupForm
from workshop.people.models import Person
from workshop.web import open_door


@sensitive_post_parameters()
@open_door()
def first_visit(request: HttpRequest) -> HttpResponse:
    """The setup form (GET), the workshop or the demo (POST). Gone for good once a workshop stands.

    The code is looked at before anything else: without it nobody makes a folder on this machine.
    """
    if Workshop.objects.exists():
        return redirect("/")
    if request.method != "POST":
        return _page(request, SetupForm(initial={"zone": machine_zone()}))
    at = clock.now()
    coded = SetupCodeForm(request.POST)
    try:
        if not coded.is_valid():
            return _page(request, coded)
        setup.check_code(code=coded.cleaned_data["code"], at=at)
        return (_demo if "demo" in request.POST else _set_up)(request, coded, at)
    except Refused as refusal:
        coded.add_error(refusal.field if refusal.field in coded.fields else None, refusal.sentence)
        return _page(request, coded, status=429 if isinstance(refusal, throttle.TooMany) else 422)


def _set_up(request: HttpRequest, coded: SetupCodeForm, at: datetime) -> HttpResponse:
    form = SetupForm(request.POST)
    if not form.is_valid():
        return _page(request, form)
    owner = setup.set_up(code=coded.cleaned_data["code"], facts=form.facts(), owner=form.owner(), at=at)
    _come_in(request, owner, at)
    return redirect("/")


def _demo(request: HttpRequest, coded: SetupCodeForm, at: datetime) -> HttpResponse:
    newcomers = setup.open_demo(code=coded.cleaned_data["code"], at=at)
    _come_in(request, newcomers[0].person, at)
    request.the_workshop = Workshop.objects.get()  # type: ignore[attr-defined]
    return render(request, "people/demo_open.html", {"newcomers": newcomers})


def _come_in(request: HttpRequest, person: Person, at: datetime) -> None:
    auth.login(request, person)
    guard.begin(request, at.timestamp())


def _page(request: HttpRequest, form: SetupCodeForm, *, status: int | None = None) -> HttpResponse:
    """The whole page. When only the code was looked at, the rest stands there as it was typed."""
    whole = form if isinstance(form, SetupForm) else SetupForm(initial=request.POST.dict())
    context = {
        "form": whole,
        "wrong": form,
        "code": form["code"],
        "zones": zones(),
        "has_demo": setup.demo_builder is not None,
    }
    return render(request, "people/setup.html", context, status=status or (422 if form.is_bound else 200))


def machine_zone() -> str:
    """The zone this machine is set to, as a first proposal; nothing when that is no place."""
    named = os.environ.get("TZ", "").lstrip(":") or str(Path("/etc/localtime").resolve())
    name = named.partition("zoneinfo/")[2] or named
    return name if "/" in name and name in zones() else ""

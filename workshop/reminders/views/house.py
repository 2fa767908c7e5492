"""What went out to everybody, and the days of the house: for its owners."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop import clock
from workshop.people.rights import OWN
from workshop.reminders import settling
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.closed import names
from workshop.reminders.forms import ClosureForm, HouseForm
from workshop.reminders.models import Closure, HouseRules, Message
from workshop.reminders.queries import failing, lately
from workshop.reminders.views.mine import me
from workshop.web import ActForm, act, door

SHOWN = timedelta(days=14)


@door(OWN, "GET")
def sent(request: HttpRequest) -> HttpResponse:
    return _sent_page(request)


@door(OWN, "POST")
def retry(request: HttpRequest, pk: int) -> HttpResponse:
    row, form = get_object_or_404(Message, pk=pk), ActForm(request.POST)

    def do(at: datetime) -> str:
        settling.retry(message=row.pk, by=me(request), at=at)
        return reverse("reminders:sent")

    done = act(request, form, name="retry message", do=do, said="It leaves within a minute.")
    return done or _sent_page(request, pressed=form)


@door(OWN)
def house(request: HttpRequest) -> HttpResponse:
    rules = HouseRules.objects.first() or HouseRules()
    present = {"country": rules.country, "region": rules.region, "owner_after": rules.owner_after}
    form = HouseForm(request.POST or None, initial=present)

    def do(at: datetime) -> str:
        settling.change_house(by=me(request), at=at, **form.values())
        return reverse("reminders:house")

    said = "Saved. Reminders move around these days within a minute."
    return act(request, form, name="change house", do=do, said=said) or _house_page(request, form=form)


@door(OWN, "POST")
def close(request: HttpRequest) -> HttpResponse:
    form = ClosureForm(request.POST)

    def do(at: datetime) -> str:
        settling.close_days(by=me(request), at=at, **form.values())
        return reverse("reminders:house")

    said = "Closed. Reminders move around these days within a minute."
    return act(request, form, name="close days", do=do, said=said) or _house_page(request, closure=form)


@door(OWN, "POST")
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    row, form = get_object_or_404(Closure, pk=pk), ActForm(request.POST)

    def do(at: datetime) -> str:
        settling.open_days(closure=row.pk, by=me(request), at=at)
        return reverse("reminders:house")

    done = act(request, form, name="open days", do=do, said="Open on those days after all.")
    return done or _house_page(request, pressed=form)


def _sent_page(request: HttpRequest, pressed: ActForm | None = None) -> HttpResponse:
    at = clock.now()
    context = {
        "sent": lately(since=at - SHOWN),
        "failing": failing(since=at - SHOWN),
        "button": ActForm(),
        "pressed": pressed,
    }
    return _answer(request, "reminders/sent.html", context)


def _house_page(
    request: HttpRequest,
    form: HouseForm | None = None,
    closure: ClosureForm | None = None,
    pressed: ActForm | None = None,
) -> HttpResponse:
    rules = HouseRules.objects.first() or HouseRules()
    present = {"country": rules.country, "region": rules.region, "owner_after": rules.owner_after}
    today = workshop_calendar().today(clock.now())
    coming = [(day, name) for year in (today.year, today.year + 1) for day, name in _holidays(rules, year)]
    context = {
        "form": form or HouseForm(initial=present),
        "closure": closure or ClosureForm(),
        "pressed": pressed,
        "button": ActForm(),
        "closures": Closure.objects.filter(last__gte=today),
        "holidays": [(day, name) for day, name in coming if day >= today][:12],
    }
    return _answer(request, "reminders/house.html", context)


def _holidays(rules: HouseRules, year: int) -> list[tuple[Any, str]]:
    return sorted(names(rules.country, rules.region, year).items()) if rules.country else []


def _answer(request: HttpRequest, template: str, context: dict[str, Any]) -> HttpResponse:
    forms = [context.get(name) for name in ("form", "closure", "pressed")]
    refused = any(form is not None and form.is_bound and form.errors for form in forms)
    return render(request, template, context, status=422 if refused else 200)

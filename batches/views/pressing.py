"""Pressing, day by day: how many jars, how many fit, and another day for one by two taps."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import pressing as actions
from batches.forms.pressing import PerDayForm, PressDayForm
from batches.queries.pressing import pressing as by_day
from workshop import clock
from workshop.forms import ActForm, fresh_key
from workshop.people import rights
from workshop.web import Done, act, door


@door(rights.SEE, "GET")
def pressing(request: HttpRequest) -> HttpResponse:
    asked = request.GET.get("jar", "")
    return _page(request, int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 19 else None)


def _page(request: HttpRequest, due: int | None, form: ActForm | None = None) -> HttpResponse:
    """The days; after a refusal with its sentence on top."""
    workshop = request.the_workshop  # type: ignore[attr-defined]
    found = by_day(at=clock.now(), zone=workshop.tz, per_day=workshop.press_per_day, due=due)
    per_day = form if isinstance(form, PerDayForm) else PerDayForm(initial={"number": workshop.press_per_day})
    context = {
        "pressing": found,
        "per_day": workshop.press_per_day,
        "per_day_form": per_day,
        "form": form,
        "over": sum(day.over for day in found.days),
        "fresh_key": fresh_key,
        "may_plan": request.user.may(rights.PLAN),  # type: ignore[union-attr]
    }
    return render(request, "batches/pressing.html", context, status=409 if form and form.errors else 200)


@door(rights.BENCH, "POST")
def pressing_move(request: HttpRequest) -> HttpResponse:
    form = PressDayForm(request.POST)

    def move(at: datetime) -> Done:
        answer = form.cleaned_data
        facts = {"due": answer["due"], "day": answer["day"], "reason": answer["reason"]}
        title = actions.move_pressing(by=request.user, at=at, **facts)  # type: ignore[arg-type]
        undo = f"{reverse('batches:rounds-undo')}?{urlencode({'due': answer['due']})}"
        said = f"{title}: planned for {answer['day']:%A} {answer['day'].day} {answer['day']:%B}."
        return Done(reverse("batches:pressing"), said, undo)

    done = act(request, form, name="pressing.move", do=move)
    return done or _page(request, form.cleaned_data.get("due"), form)


@door(rights.PLAN, "POST")
def pressing_limit(request: HttpRequest) -> HttpResponse:
    form = PerDayForm(request.POST)

    def limit(at: datetime) -> Done:
        number = actions.press_so_many(number=form.cleaned_data["number"], by=request.user, at=at)  # type: ignore[arg-type]
        said = f"{number} jar{'s' if number > 1 else ''} a day from now on." if number else "As many as come."
        return Done(reverse("batches:pressing"), said)

    return act(request, form, name="pressing.limit", do=limit) or _page(request, None, form)

"""How sure each instrument of the workshop is, for its owners."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.calc.sure import why
from batches.forms.instruments import InstrumentsForm, as_typed
from batches.queries.jar_sure import usual_jar
from workshop.models import Workshop
from workshop.people import rights, staff
from workshop.web import act, door


@door(rights.OWN)
def instruments(request: HttpRequest) -> HttpResponse:
    """The half-widths, and what a usual jar would be sure to with those kept."""
    workshop = Workshop.objects.get()
    form = InstrumentsForm(request.POST or None, initial=as_typed(workshop.instruments))

    def do(at: datetime) -> str:
        facts = {"instruments": form.half_widths()}
        staff.change_workshop(facts=facts, by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:instruments")

    done = act(request, form, name="change instruments", do=do, said="Figures are reckoned with these now.")
    if done is not None:
        return done
    _, abv = usual_jar(workshop)
    context = {"form": form, "abv": abv, "why": why(abv)}
    return render(request, "batches/instruments_form.html", context, status=422 if form.errors else 200)

"""What the workshop learned from itself: the list, one value with its runs, drops counted."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import learned as actions
from batches.calc.learning import LEAST_RUNS
from batches.forms.learned import DropsForm, JudgeForm
from batches.queries.learned import QUANTITIES, SOURCES, Own, own_values, the_own
from workshop.people import rights
from workshop.web import act, door


@door(rights.SEE, "GET")
def learned_list(request: HttpRequest) -> HttpResponse:
    groups = [(QUANTITIES[key], own_values(key)) for key in SOURCES]
    context = {
        "groups": groups,
        "least": LEAST_RUNS,
        "ready": sum(1 for _, rows in groups for own in rows if own.learned and own.learned.enough),
    }
    return render(request, "batches/learned_list.html", context)


@door(rights.SEE)
def learned(request: HttpRequest, quantity: str, subject: str) -> HttpResponse:
    own = the_own(quantity, subject) if quantity in SOURCES else None
    if own is None:
        raise Http404("Nothing was seen of this yet.")
    person: Any = request.user
    form = JudgeForm(request.POST or None)
    if request.method == "POST":

        def judge(at: Any) -> str:
            told = {name: form.cleaned_data[name] for name in ("ref", "aside", "reason")}
            actions.judge_run(quantity=quantity, subject=subject, by=person, at=at, **told)
            return reverse("batches:learned", args=[quantity, subject])

        done = act(request, form, name="judge-run", do=judge, said="Noted; plans follow.")
        if done is not None:
            return done
    page, status = _page(own, form, person), 422 if form.errors else 200
    return render(request, "batches/learned_page.html", page, status=status)


def _page(own: Own, form: JudgeForm, person: Any) -> dict[str, Any]:
    """The value with its working and its runs; a refused reason stands open at its run."""
    refs = [run.seen.ref for run in own.runs]
    typed = form["ref"].value()
    return {
        "own": own,
        "form": form,
        "typed_at": (typed if typed in refs else refs[0]) if form.errors else "",
        "figure": own.learned.figures()["estimate"] if own.learned else None,
        "least": LEAST_RUNS,
        "may_judge": rights.may(person, rights.DECIDE),
    }


@door(rights.BENCH)
def drops_new(request: HttpRequest) -> HttpResponse:
    person: Any = request.user
    form = DropsForm(request.POST or None, person=person)
    if request.method == "POST":

        def count(at: Any) -> str:
            typed = form.cleaned_data
            row = actions.count_drops(
                dropper=typed["dropper"],
                liquid=typed["liquid"],
                count=int(typed["count"]),
                mass_g=typed["mass_g"].base,
                by=person,
                at=at,
            )
            return reverse("batches:learned", args=["drops", f"{row.dropper_id}-{row.liquid.material_id}"])

        done = act(request, form, name="drops-new", do=count, said="Counted.")
        if done is not None:
            return done
    return render(request, "batches/drops_form.html", {"form": form}, status=422 if form.errors else 200)

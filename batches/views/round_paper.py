"""The round on paper for the day the power is out, and what was ticked on it entered later."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from batches.actions import rounds as actions
from batches.documents import runsheets as papers
from batches.forms.rounds import PaperForm
from batches.queries.rounds import rounds as due_rounds
from batches.queries.shelf_sentence import counted
from batches.views.rounds import to_the_round
from batches.views.runsheets import as_pdf, paper_of
from workshop import clock
from workshop.people import rights
from workshop.web import Done, act, door


@door(rights.SEE, "GET")
def round_sheet(request: HttpRequest) -> HttpResponse:
    at, workshop = clock.now(), request.the_workshop  # type: ignore[attr-defined]
    context = {
        "rounds": due_rounds(at=at, zone=workshop.tz),
        "workshop": workshop,
        "zone": workshop.tz,
        "at": timezone.localtime(at, workshop.tz),
    }
    made = papers.round_sheet_pdf(context=context, paper=paper_of(workshop), title="The round on paper")
    return as_pdf(made, "round.pdf")


@door(rights.BENCH)
def round_paper(request: HttpRequest) -> HttpResponse:
    """What is due and was ticked on paper: one time for all of it, written down as a later entry."""
    form, workshop = PaperForm(request.POST or None), request.the_workshop  # type: ignore[attr-defined]
    if request.method == "POST":

        def enter(at: datetime) -> Done:
            then, reason = form.happened_at(at, workshop.tz), form.cleaned_data["reason"]
            facts = {"jars": form.jars, "dues": form.dues, "reason": reason}
            done = actions.do_all(by=request.user, at=at, happened_at=then, **facts)  # type: ignore[arg-type]
            number = len(done) + len(form.dues)
            when = f"{form.cleaned_data['day']}, {then.astimezone(workshop.tz):%H:%M}"
            said = f"{counted(number).capitalize()} thing{'s' if number > 1 else ''} entered for {when}."
            return to_the_round(said, done, form.dues)

        entered = act(request, form, name="rounds.paper", do=enter)
        if entered is not None:
            return entered
    found = due_rounds(at=clock.now(), zone=workshop.tz)
    ticked = set(request.POST.getlist("done"))
    typed = [form["day"], form["when"], form["reason"]]
    context = {"form": form, "rounds": found, "ticked": ticked, "typed": typed}
    return render(request, "batches/round_paper.html", context, status=409 if form.errors else 200)

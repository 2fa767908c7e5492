"""Rounds: what is due now, place after place; one tap a jar, or one tap a shelf."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import rounds as actions
from batches.forms.rounds import BackForm, DueForm, ShakenForm
from batches.queries.rounds import rounds as due_rounds
from batches.queries.shelf_sentence import counted
from workshop import clock
from workshop.forms import ActForm, fresh_key
from workshop.people import rights
from workshop.reminders.queries import todays_digest
from workshop.web import Done, act, door


@door(rights.SEE, "GET")
def rounds(request: HttpRequest) -> HttpResponse:
    return _page(request)


def _page(request: HttpRequest, form: ActForm | None = None) -> HttpResponse:
    """The page; after a refusal with its sentence on top."""
    at, workshop = clock.now(), request.the_workshop  # type: ignore[attr-defined]
    found = due_rounds(at=at, zone=workshop.tz)
    context = {
        "rounds": found,
        "how_many": counted(found.count).capitalize(),
        "missed": counted(found.missed).capitalize(),
        "zone": workshop.tz,
        "at": at,
        "form": form,
        "fresh_key": fresh_key,
        "shows_digest": workshop.is_demo,
        "digest": todays_digest(person=request.user, at=at) if workshop.is_demo else None,  # type: ignore[arg-type]
    }
    return render(request, "batches/rounds.html", context, status=409 if form and form.errors else 200)


@door(rights.BENCH, "POST")
def rounds_shake(request: HttpRequest) -> HttpResponse:
    form = ShakenForm(request.POST)

    def shake(at: datetime) -> Done:
        done = actions.shake_all(stages=form.cleaned_data["stages"], by=request.user, at=at)  # type: ignore[arg-type]
        number = len(done)
        said = (
            f"{done[0].stage.batch}: shaken."
            if number == 1
            else f"{counted(number).capitalize()} jars shaken."
        )
        return Done(reverse("batches:rounds"), said, _undo(acts=",".join(str(act.pk) for act in done)))

    return act(request, form, name="rounds.shake", do=shake) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_settle(request: HttpRequest) -> HttpResponse:
    """A due without an act of its own is ticked off, or any due is left for now."""
    form = DueForm(request.POST)

    def settle(at: datetime) -> Done:
        answer = form.cleaned_data
        run = actions.tick_off if answer["what"] == "done" else actions.leave_for_now
        run(due=answer["due"], reason=answer["reason"], by=request.user, at=at)  # type: ignore[arg-type]
        said = "Done." if answer["what"] == "done" else "Left for now."
        return Done(reverse("batches:rounds"), said, _undo(due=answer["due"]))

    return act(request, form, name="rounds.settle", do=settle) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_undo(request: HttpRequest) -> HttpResponse:
    """Take back what a round has just logged. The address carries what it was; undoing twice does nothing."""
    sent = request.GET.dict() | {"once_key": request.POST.get("once_key") or fresh_key()}
    form = BackForm(sent)

    def back(at: datetime) -> Done:
        answer = form.cleaned_data
        if answer["due"]:
            actions.ask_again(due=answer["due"], by=request.user, at=at)  # type: ignore[arg-type]
        else:
            actions.take_back_shakes(acts=answer["acts"], by=request.user, at=at)  # type: ignore[arg-type]
        return Done(reverse("batches:rounds"), "Taken back: it is due again.")

    return act(request, form, name="rounds.undo", do=back) or _page(request, form)


def _undo(**what: object) -> str:
    return f"{reverse('batches:rounds-undo')}?{urlencode(what, safe=',')}"

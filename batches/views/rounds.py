"""Rounds: what is due now, place after place; one tap a jar, one tap a shelf, and each of it taken back."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import rounds as actions
from batches.forms.rounds import UNTIL, BackForm, DueForm, ShakenForm, WalkedForm
from batches.models import StageAct
from batches.queries.rounds import in_hand, said_today
from batches.queries.rounds import rounds as due_rounds
from batches.queries.shelf_sentence import counted
from batches.queries.shelf_words import day_words
from inventory.queries.waiting import waiting_lots
from workshop import capture, clock
from workshop.forms import ActForm, fresh_key
from workshop.people import rights
from workshop.reminders.queries import todays_digest
from workshop.web import Done, act, door


@door(rights.SEE, "GET", board=True)
def rounds(request: HttpRequest) -> HttpResponse:
    return _page(request)


def _page(request: HttpRequest, form: ActForm | None = None) -> HttpResponse:
    """The page; after a refusal with its sentence on top."""
    at, workshop = clock.now(), request.the_workshop  # type: ignore[attr-defined]
    found = due_rounds(at=at, zone=workshop.tz)
    stops, more = in_hand(found, request.GET.get("stop", ""))
    here = f"?{urlencode({'stop': stops[0].name})}" if more else ""
    context = {
        "rounds": found,
        "stops": stops,
        "strip": [(stop, stop is stops[0]) for stop in found.places] if more else (),
        "here": here,
        "back": reverse("batches:rounds") + here,
        "later": request.GET.get("later", ""),
        "how_many": counted(found.count).capitalize(),
        "missed": counted(found.missed).capitalize(),
        "at": at,
        "form": form,
        "key": fresh_key(),  # of the page; each form adds what it is about
        "until": UNTIL,
        "said": said_today(at=at, zone=workshop.tz),
    }
    context |= _of_person(request, at)
    return render(request, "batches/rounds.html", context, status=409 if form and form.errors else 200)


def _of_person(request: HttpRequest, at: datetime) -> dict[str, Any]:
    """What only some may do, and in a demo the day's digest."""
    person: Any = request.user
    workshop = request.the_workshop  # type: ignore[attr-defined]
    asks = workshop.is_demo and person.is_authenticated
    return {
        "zone": workshop.tz,
        "waiting": waiting_lots() if person.may(rights.DECIDE) else (),
        "may_plan": person.may(rights.PLAN),
        "shows_digest": asks,
        "digest": todays_digest(person=person, at=at) if asks else None,
    }


@door(rights.BENCH, "POST")
def rounds_shake(request: HttpRequest) -> HttpResponse:
    form = ShakenForm(request.POST)

    def shake(at: datetime) -> Done:
        done = actions.shake_all(stages=form.cleaned_data["stages"], by=request.user, at=at)  # type: ignore[arg-type]
        number = len(done)
        one, many = f"{done[0].stage.batch}: shaken.", f"{counted(number).capitalize()} jars shaken."
        return to_the_round(one if number == 1 else many, done, [], stop=_stop(request))

    return act(request, form, name="rounds.shake", do=shake) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_all(request: HttpRequest) -> HttpResponse:
    """Everything at one stop that needs no look at each, in one act: each jar has its own in the story."""
    form = WalkedForm(request.POST)

    def walked(at: datetime) -> Done:
        reason = form.cleaned_data["reason"]
        done = actions.do_all(jars=form.jars, dues=form.dues, by=request.user, at=at, reason=reason)  # type: ignore[arg-type]
        number = len(done) + len(form.dues)
        return to_the_round(
            f"{counted(number).capitalize()} thing{'s' if number > 1 else ''} done.",
            done,
            form.dues,
            stop=_stop(request),
        )

    return act(request, form, name="rounds.all", do=walked) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_settle(request: HttpRequest) -> HttpResponse:
    """A due without an act of its own is ticked off; any due is left for now or put off."""
    form, workshop = DueForm(request.POST), request.the_workshop  # type: ignore[attr-defined]

    def settle(at: datetime) -> Done:
        answer, made = form.cleaned_data, capture.happened(at)  # without Wi-Fi it was tapped before it came
        facts = {"due": answer["due"], "reason": answer["reason"], "by": request.user}
        until = form.put_off_to(made, workshop.tz, workshop.opens_at)
        if until is not None:
            actions.put_off(until=until, at=at, **facts)
            when = f"{day_words(until, at, workshop.tz)}, {until.astimezone(workshop.tz):%H:%M}"
            return Done(_round(_stop(request)), f"Put off until {when}.", _undo(due=answer["due"]))
        done = answer["what"] == "done"
        (actions.tick_off if done else actions.leave_for_now)(at=made, **facts)
        said = "Done." if done else "Left for now."
        return Done(_round(_stop(request)), said, _undo(due=answer["due"]))

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
            actions.take_back(acts=answer["acts"], dues=answer["dues"], by=request.user, at=at)  # type: ignore[arg-type]
        return Done(reverse("batches:rounds"), "Taken back: it is due again.")

    return act(request, form, name="rounds.undo", do=back) or _page(request, form)


def to_the_round(said: str, acts: list[StageAct], dues: list[int], *, stop: str = "") -> Done:
    """Back to the round, with the way to take it all back."""
    what = {"acts": ",".join(str(act.pk) for act in acts), "dues": ",".join(str(due) for due in dues)}
    return Done(_round(stop), said, _undo(**{name: ids for name, ids in what.items() if ids}))


def _stop(request: HttpRequest) -> str:
    return request.GET.get("stop", "")[:60]


def _round(stop: str) -> str:
    return reverse("batches:rounds") + (f"?{urlencode({'stop': stop})}" if stop else "")


def _undo(**what: object) -> str:
    return f"{reverse('batches:rounds-undo')}?{urlencode(what, safe=',')}"

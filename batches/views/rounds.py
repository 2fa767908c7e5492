"""Rounds: what is due now, place after place; one tap a jar, one tap a shelf, and each of it taken back."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import rounds as actions
from batches.forms.rounds import UNTIL, BackForm, DueForm, ShakenForm, WalkedForm
from batches.models import StageAct
from batches.queries.rounds import rounds as due_rounds
from batches.queries.rounds import said_today
from batches.queries.shelf_sentence import counted
from batches.queries.shelf_words import day_words
from inventory.queries.waiting import waiting_lots
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
    decides = request.user.may(rights.DECIDE)  # type: ignore[union-attr]
    context = {
        "rounds": found,
        "how_many": counted(found.count).capitalize(),
        "missed": counted(found.missed).capitalize(),
        "zone": workshop.tz,
        "at": at,
        "form": form,
        "fresh_key": fresh_key,
        "until": UNTIL,
        "waiting": waiting_lots() if decides else (),
        "said": said_today(at=at, zone=workshop.tz),
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
        one, many = f"{done[0].stage.batch}: shaken.", f"{counted(number).capitalize()} jars shaken."
        return _done(one if number == 1 else many, done)

    return act(request, form, name="rounds.shake", do=shake) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_all(request: HttpRequest) -> HttpResponse:
    """Everything at one stop that needs no look at each, in one act: each jar has its own in the story."""
    form = WalkedForm(request.POST)

    def walked(at: datetime) -> Done:
        reason = form.cleaned_data["reason"]
        done = actions.do_all(jars=form.jars, dues=form.dues, by=request.user, at=at, reason=reason)  # type: ignore[arg-type]
        number = len(done) + len(form.dues)
        return _done(
            f"{counted(number).capitalize()} thing{'s' if number > 1 else ''} done.", done, form.dues
        )

    return act(request, form, name="rounds.all", do=walked) or _page(request, form)


@door(rights.BENCH, "POST")
def rounds_settle(request: HttpRequest) -> HttpResponse:
    """A due without an act of its own is ticked off; any due is left for now or put off."""
    form, workshop = DueForm(request.POST), request.the_workshop  # type: ignore[attr-defined]

    def settle(at: datetime) -> Done:
        answer = form.cleaned_data
        facts = {"due": answer["due"], "reason": answer["reason"], "by": request.user, "at": at}
        until = form.put_off_to(at, workshop.tz, workshop.opens_at)
        if until is not None:
            actions.put_off(until=until, **facts)
            when = f"{day_words(until, at, workshop.tz)}, {until.astimezone(workshop.tz):%H:%M}"
            return Done(reverse("batches:rounds"), f"Put off until {when}.", _undo(due=answer["due"]))
        done = answer["what"] == "done"
        (actions.tick_off if done else actions.leave_for_now)(**facts)
        said = "Done." if done else "Left for now."
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
            actions.take_back(acts=answer["acts"], dues=answer["dues"], by=request.user, at=at)  # type: ignore[arg-type]
        return Done(reverse("batches:rounds"), "Taken back: it is due again.")

    return act(request, form, name="rounds.undo", do=back) or _page(request, form)


def _done(said: str, acts: list[StageAct], dues: list[int] | None = None) -> Done:
    """Back to the round, with the way to take it all back."""
    what = {"acts": ",".join(str(act.pk) for act in acts), "dues": ",".join(str(due) for due in dues or ())}
    return Done(reverse("batches:rounds"), said, _undo(**{name: ids for name, ids in what.items() if ids}))


def _undo(**what: object) -> str:
    return f"{reverse('batches:rounds-undo')}?{urlencode(what, safe=',')}"

"""What comes round in the house: the list, a new one, one that ends."""

from __future__ import annotations

from datetime import datetime, time
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions import chores as actions
from batches.forms.chores import ChoreForm, ChoreKeyForm
from batches.queries.chores import chores as that_come_round
from workshop import clock
from workshop.calc.slots import slot_utc
from workshop.forms import ActForm, fresh_key
from workshop.people import rights
from workshop.web import Done, act, door


@door(rights.PLAN)
def chores(request: HttpRequest) -> HttpResponse:
    form, zone = ChoreForm(request.POST or None), request.the_workshop.tz  # type: ignore[attr-defined]
    if request.method == "POST":

        def start(at: datetime) -> Done:
            facts = {name: form.cleaned_data[name] for name in ("act", "what", "place", "every")}
            today = slot_utc(at.astimezone(zone).date(), time(), zone)
            now = form.cleaned_data["first"] == "now"
            key = actions.start_chore(**facts, starts_at=today, now=now, by=request.user, at=at)
            return Done(reverse("batches:chores"), "It comes round from now on.", _url("chore-end", key))

        done = act(request, form, name="chores.start", do=start)
        if done is not None:
            return done
    return _page(request, form)


def _page(request: HttpRequest, form: ActForm, *, refused: ActForm | None = None) -> HttpResponse:
    zone = request.the_workshop.tz  # type: ignore[attr-defined]
    context = {"chores": that_come_round(at=clock.now()), "form": form, "zone": zone, "fresh_key": fresh_key}
    wrong = (refused or form).errors
    return render(
        request, "batches/chores.html", context | {"refused": refused}, status=409 if wrong else 200
    )


@door(rights.PLAN, "POST")
def chore_end(request: HttpRequest) -> HttpResponse:
    form = ChoreKeyForm(_sent(request))

    def end(at: datetime) -> Done:
        key = form.cleaned_data["key"]
        actions.end_chore(key=key, by=request.user, at=at)  # type: ignore[arg-type]
        return Done(reverse("batches:chores"), "It comes round no more.", _url("chore-resume", key))

    return act(request, form, name="chores.end", do=end) or _page(request, ChoreForm(), refused=form)


@door(rights.PLAN, "POST")
def chore_resume(request: HttpRequest) -> HttpResponse:
    form = ChoreKeyForm(_sent(request))

    def resume(at: datetime) -> Done:
        key = form.cleaned_data["key"]
        actions.resume_chore(key=key, by=request.user, at=at)  # type: ignore[arg-type]
        return Done(reverse("batches:chores"), "It comes round again.", _url("chore-end", key))

    return act(request, form, name="chores.resume", do=resume) or _page(request, ChoreForm(), refused=form)


def _sent(request: HttpRequest) -> dict[str, str]:
    """What was tapped, or, for an undoing, what its address says."""
    return request.GET.dict() | {"once_key": fresh_key()} | request.POST.dict()


def _url(name: str, key: str) -> str:
    return f"{reverse(f'batches:{name}')}?{urlencode({'key': key}, safe=':')}"

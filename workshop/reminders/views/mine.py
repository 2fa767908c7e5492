"""Reminders that reach me: what each person settles for themselves.

A name tile at the bench is no proof of who taps: whatever shows or changes where messages and the calendar go
asks for a right that a bench session has only after the password.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop import clock
from workshop.people.models import Person
from workshop.people.rights import PLAN, SEE
from workshop.reminders import settling
from workshop.reminders.forms import NONE, ChannelForm, NewChannelForm, ReachForm
from workshop.reminders.models import Channel, Feed, Message, Reach
from workshop.reminders.queries import todays_digest
from workshop.web import ActForm, Done, View, act, door, page_or_part, refused_page

LATELY = timedelta(days=14)


def of_mine(view: Callable[[HttpRequest, Channel], HttpResponse]) -> View:
    """Finds the service by its number; somebody else's, or one taken away, is refused in words."""

    @wraps(view)
    def inside(request: HttpRequest, pk: int) -> HttpResponse:
        row = get_object_or_404(Channel, pk=pk)
        own = row.person_id == request.user.pk and row.removed_at is None
        return view(request, row) if own else refused_page(request, settling.NOT_YOURS)

    return inside


@door(SEE, "GET")
def digest(request: HttpRequest) -> HttpResponse:
    """Today's list on the screen: in the demo, without a mail server, and for whoever has no address."""
    today = todays_digest(person=me(request), at=clock.now())
    return page_or_part(request, "reminders/digest.html", "reminders/_digest.html", {"digest": today})


@door(PLAN)
def mine(request: HttpRequest) -> HttpResponse:
    person = me(request)
    reach = Reach.objects.filter(pk=person.pk).first() or Reach(person=person)
    form = ReachForm(request.POST or None, initial=_present(reach), chosen=reach.places)

    def do(at: datetime) -> str:
        settling.change_reach(by=person, at=at, **form.values())
        return reverse("reminders:mine")

    done = act(request, form, name="change reach", do=do, said="That is how reminders reach you now.")
    return done or _page(request, form)


@door(PLAN)
def service_add(request: HttpRequest) -> HttpResponse:
    form = NewChannelForm(request.POST or None)

    def do(at: datetime) -> Done:
        row = settling.add_channel(by=me(request), at=at, **form.values())
        said = f"{row.name} is added. Send it a test to see whether it arrives."
        return Done(reverse("reminders:service", args=[row.pk]), said)

    return act(request, form, name="add service", do=do) or _form_page(
        request, "reminders/service_add.html", {"form": form}
    )


@door(PLAN)
@of_mine
def service(request: HttpRequest, row: Channel) -> HttpResponse:
    form = ChannelForm(request.POST or None, initial={"name": row.name, "when": row.when})

    def do(at: datetime) -> str:
        settling.change_channel(channel=row.pk, by=me(request), at=at, **form.values())
        return reverse("reminders:mine")

    done = act(request, form, name="change service", do=do, said="The service is saved.")
    return done or _service_page(request, row, form)


@door(PLAN, "POST")
@of_mine
def service_test(request: HttpRequest, row: Channel) -> HttpResponse:
    form = ActForm(request.POST)

    def do(at: datetime) -> Done:
        message = settling.test_channel(channel=row.pk, by=me(request), at=at)
        said = "A test leaves within a minute. Load this page again to see what became of it."
        shown = "This is a demo: the test is shown below, nothing is sent."
        return Done(reverse("reminders:service", args=[row.pk]), said if message.to else shown)

    done = act(request, form, name="test service", do=do)
    return done or _service_page(request, row, pressed=form)


@door(PLAN, "POST")
@of_mine
def service_remove(request: HttpRequest, row: Channel) -> HttpResponse:
    form = ActForm(request.POST)

    def do(at: datetime) -> str:
        settling.remove_channel(channel=row.pk, by=me(request), at=at)
        return reverse("reminders:mine")

    said = f"{row.name} gets no more messages; its address is forgotten."
    done = act(request, form, name="remove service", do=do, said=said)
    return done or _service_page(request, row, pressed=form)


@door(PLAN, "POST")
def feed_renew(request: HttpRequest) -> HttpResponse:
    """The new address shows in the answer to the POST only: it is kept nowhere."""
    form, tokens = ActForm(request.POST), []

    def do(at: datetime) -> str:
        tokens.append(settling.renew_feed(by=me(request), at=at))
        return reverse("reminders:mine")

    done = act(request, form, name="renew calendar", do=do)
    if done and tokens:
        address = request.build_absolute_uri(reverse("reminders:calendar", args=[tokens[-1]]))
        return render(request, "reminders/feed.html", {"address": address})
    return done or _page(request, _reach_form(request), pressed=form)


@door(PLAN, "POST")
def feed_end(request: HttpRequest) -> HttpResponse:
    form = ActForm(request.POST)

    def do(at: datetime) -> str:
        settling.end_feed(by=me(request), at=at)
        return reverse("reminders:mine")

    done = act(request, form, name="end calendar", do=do, said="The calendar's address leads nowhere now.")
    return done or _page(request, _reach_form(request), pressed=form)


def me(request: HttpRequest) -> Person:
    """A row of its own: an act that is refused half-way must not leave its traces on `request.user`."""
    return Person.objects.get(pk=str(request.user.pk))


def _present(reach: Reach) -> dict[str, Any]:
    """What is settled, as it would be typed."""
    names = ("acts", "places", "quiet_from", "quiet_to", "on_closed")
    present = {name: getattr(reach, name) for name in names}
    return present | {"mail": reach.mail_when if reach.person.wants_digest else NONE}


def _reach_form(request: HttpRequest) -> ReachForm:
    person = me(request)
    reach = Reach.objects.filter(pk=person.pk).first() or Reach(person=person)
    return ReachForm(initial=_present(reach), chosen=reach.places)


def _page(request: HttpRequest, form: ReachForm, pressed: ActForm | None = None) -> HttpResponse:
    person = me(request)
    messages = Message.objects.filter(person=person, made_at__gte=clock.now() - LATELY)
    context = {
        "form": form,
        "pressed": pressed,
        "button": ActForm(),
        "person": person,
        "channels": Channel.objects.filter(person=person, removed_at=None),
        "feed": Feed.objects.filter(person=person).first(),
        "sent": messages.select_related("channel").order_by("-pk")[:20],
    }
    return _form_page(request, "reminders/mine.html", context)


def _service_page(
    request: HttpRequest, row: Channel, form: ChannelForm | None = None, pressed: ActForm | None = None
) -> HttpResponse:
    form = form or ChannelForm(initial={"name": row.name, "when": row.when})
    sent = Message.objects.filter(channel=row).select_related("channel").order_by("-pk")[:10]
    context = {"form": form, "pressed": pressed, "button": ActForm(), "channel": row, "sent": sent}
    return _form_page(request, "reminders/service.html", context)


def _form_page(request: HttpRequest, template: str, context: dict[str, Any]) -> HttpResponse:
    pressed = context.get("pressed") or context["form"]
    refused = pressed.is_bound and bool(pressed.errors)
    return render(request, template, context, status=422 if refused else 200)

"""What each person settles for themselves."""

from __future__ import annotations

from datetime import datetime

from django.contrib import auth
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.people import guard, rights, signing, staff
from workshop.people.forms.entering import PasswordForm
from workshop.people.forms.house import AS_THE_WORKSHOP, PreferencesForm, TabletViewForm
from workshop.people.models import Person
from workshop.web import act, door


@door(rights.PLAN)
def preferences(request: HttpRequest) -> HttpResponse:
    """Where mail goes: with a password, which nobody gave who only tapped a name."""
    person = _me(request)
    present = {"email": person.email, "wants_digest": person.wants_digest}
    form = PreferencesForm(request.POST or None, initial=present)

    def do(at: datetime) -> str:
        staff.change_preferences(person=person, by=person, at=at, **form.values())
        return reverse("people:preferences")

    done = act(request, form, name="change preferences", do=do, said="Your preferences are saved.")
    return done or render(
        request, "people/preferences.html", {"form": form}, status=422 if form.errors else 200
    )


@door(rights.SEE)
def tablet_view(request: HttpRequest) -> HttpResponse:
    """Light or dark, units, gloves, which hand."""
    person = _me(request)
    present = {name: getattr(person, name) for name in ("theme", "glove", "left_handed")}
    form = TabletViewForm(request.POST or None, initial=present | {"units": person.units or AS_THE_WORKSHOP})

    def do(at: datetime) -> str:
        staff.change_view(person=person, by=person, at=at, **form.values())
        return reverse("people:view")

    done = act(request, form, name="change view", do=do, said="The screen is as you like it.")
    return done or render(
        request, "people/tablet_view.html", {"form": form}, status=422 if form.errors else 200
    )


@sensitive_post_parameters()
@door(rights.SEE)
def password(request: HttpRequest) -> HttpResponse:
    """A new password; every other session of this person ends, this one goes on under a new key."""
    person = _me(request)
    form = PasswordForm(request.POST or None, person=person)

    def do(at: datetime) -> str:
        staff.change_password(person=person, password=form.cleaned_data["password"], by=person, at=at)
        auth.update_session_auth_hash(request, person)
        guard.begin(request, at.timestamp())
        return "/"

    said = "Your password is changed. You are signed out everywhere else."
    _ask_again(form, person)
    done = act(request, form, name="change password", do=do, said=said)
    context = {"form": form, "first": person.initial_until is not None}
    return done or render(request, "people/password.html", context, status=422 if form.errors else 200)


def _ask_again(form: PasswordForm, person: Person) -> None:
    """Outside the act's transaction: a wrong guess must stay counted."""
    if not form.is_valid():
        return
    try:
        signing.confirm(person=person, password=form.cleaned_data["present"], at=clock.now())
    except Refused as refusal:
        form.add_error("present", refusal.sentence)


def _me(request: HttpRequest) -> Person:
    """A row of its own: an act that is refused half-way must not leave its traces on `request.user`."""
    return Person.objects.get(pk=str(request.user.pk))

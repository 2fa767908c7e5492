"""One's own ways in besides the password: PIN, badge, passkeys. The password is asked for each new one."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.contrib import auth
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import badges, bench, guard, passkeys, pins, rights, signing, throttle
from workshop.people.forms.bench import OwnPinForm, PasskeyForm, WithPassword
from workshop.people.models import Badge, Passkey, Person, Pin
from workshop.web import ActForm, act, door, onward, open_door

CHALLENGE = "passkey_challenge"
CHALLENGE_LASTS = 300  # seconds


@door(rights.SEE, "GET")
def ways(request: HttpRequest) -> HttpResponse:
    return _page(request)


@sensitive_post_parameters()
@door(rights.SEE, "POST")
def pin(request: HttpRequest) -> HttpResponse:
    form, person = OwnPinForm(request.POST), _me(request)

    def do(at: datetime) -> str:
        pins.set_pin(person=person, pin=form.cleaned_data["pin"], by=person, at=at)
        return reverse("people:ways")

    confirm(form, person)
    said = "Your PIN is set. It opens the bench on the workshop's tablets."
    return act(request, form, name="set PIN", do=do, said=said) or _page(request, pin_form=form)


@sensitive_post_parameters()
@door(rights.SEE, "POST")
def badge(request: HttpRequest) -> HttpResponse:
    """A new badge as a sheet to print; it is in this answer only."""
    form, person = WithPassword(request.POST), _me(request)
    confirm(form, person)
    return print_badge(request, form, person, reverse("people:ways")) or _page(request, badge_form=form)


@door(rights.PLAN, "POST")
def badge_back(request: HttpRequest) -> HttpResponse:
    form, person = ActForm(request.POST), _me(request)

    def do(at: datetime) -> str:
        badges.take_back(person=person, by=person, at=at)
        return reverse("people:ways")

    said = "Your badge opens nothing any more."
    return act(request, form, name="take back badge", do=do, said=said) or _page(request, pressed=form)


@sensitive_post_parameters()
@door(rights.SEE, "POST")
def passkey_ask(request: HttpRequest) -> HttpResponse:
    """What the browser needs to make a passkey, once the password is right."""
    form, person = PasskeyForm(request.POST), _me(request)
    confirm(form, person)
    if not form.is_valid():
        return JsonResponse({"said": " ".join(sum(form.errors.values(), []))}, status=422)
    asked = passkeys.ask_to_make(person=person, site=_site(request))
    _remember(request, asked.challenge, form.cleaned_data["name"])
    return JsonResponse(asked.options)


@door(rights.SEE, "POST")
def passkey_add(request: HttpRequest) -> HttpResponse:
    """The new key, for the challenge that was handed out after the password."""
    person, answer = _me(request), request.POST.get("answer", "")
    challenge, name = _recall(request)
    try:
        passkeys.make(
            person=person,
            answer=answer,
            challenge=challenge,
            site=_site(request),
            name=name,
            by=person,
            at=clock.now(),
        )
    except Refused as refusal:
        return JsonResponse({"said": refusal.sentence}, status=422)
    return JsonResponse({"url": reverse("people:ways")})


@door(rights.PLAN, "POST")
def passkey_drop(request: HttpRequest, pk: int) -> HttpResponse:
    form, person = ActForm(request.POST), _me(request)
    passkey = get_object_or_404(Passkey, pk=pk, person=person)

    def do(at: datetime) -> str:
        passkeys.drop(passkey=passkey, by=person, at=at)
        return reverse("people:ways")

    done = act(request, form, name="drop passkey", do=do, said=f"{passkey} opens nothing here any more.")
    return done or _page(request, pressed=form)


@open_door("POST")
def passkey_who(request: HttpRequest) -> HttpResponse:
    asked = passkeys.ask_to_come(site=_site(request))
    _remember(request, asked.challenge)
    return JsonResponse(asked.options)


@open_door("POST")
def passkey_come(request: HttpRequest) -> HttpResponse:
    """In by passkey. On a shared tablet for bench work only: many hands know what unlocks the device."""
    challenge, _ = _recall(request)
    at, answer = clock.now(), request.POST.get("answer", "")
    try:
        throttle.claim(key="passkey", rule=throttle.EVERYBODY, at=at)
        person = passkeys.whose(answer=answer, challenge=challenge, site=_site(request), at=at)
    except Refused as refusal:
        status = 429 if isinstance(refusal, throttle.TooMany) else 422
        return JsonResponse({"said": refusal.sentence}, status=status)
    throttle.give_back(key="passkey")
    if bench.tablet_of(request) is not None:
        bench.come_in(request, person)
    else:
        auth.logout(request)
        auth.login(request, person)
    guard.begin(request, at.timestamp())
    return JsonResponse({"url": onward(request, request.POST.get("next", ""))})


def confirm(form: WithPassword, person: Person) -> None:
    """Outside the act's transaction: a wrong guess must stay counted."""
    if not form.is_valid():
        return
    try:
        signing.confirm(person=person, password=form.cleaned_data["present"], at=clock.now())
    except Refused as refusal:
        form.add_error("present", refusal.sentence)


def print_badge(request: HttpRequest, form: ActForm, person: Person, back: str) -> HttpResponse | None:
    """A new badge of `person` as PDF; None when the form is refused. A repeat leads `back`."""
    made: list[badges.Printed] = []

    def do(at: datetime) -> str:
        made.append(badges.make(person=person, by=request.user, at=at))  # type: ignore[arg-type]
        return back

    done = act(request, form, name="print badge", do=do)
    if not (done and made):
        return done
    shop: Workshop = request.the_workshop  # type: ignore[attr-defined]
    paper = "Letter" if shop.units == Workshop.Units.US else "A4"
    response = HttpResponse(
        badges.sheet(made[-1], workshop=shop.name, paper=paper), content_type="application/pdf"
    )
    response["Content-Disposition"] = 'attachment; filename="badge.pdf"'
    return response


def _page(request: HttpRequest, *, pressed: ActForm | None = None, **forms: Any) -> HttpResponse:
    person = _me(request)
    context = {
        "pin_form": OwnPinForm(),
        "badge_form": WithPassword(auto_id="badge_%s"),
        "passkey_form": PasskeyForm(auto_id="passkey_%s"),
        "button": ActForm(),
        "pressed": pressed,
        "pin": Pin.objects.filter(person=person).first(),
        "badge": Badge.objects.filter(person=person, revoked_at=None).first(),
        "passkeys": Passkey.objects.filter(person=person).order_by("made_at"),
        **forms,
    }
    refused = any(form.errors for form in [*forms.values(), *([pressed] if pressed else [])])
    return render(request, "people/ways.html", context, status=422 if refused else 200)


def _site(request: HttpRequest) -> passkeys.Site:
    host = request.get_host()
    origin = f"{request.scheme}://{host}"
    return passkeys.Site(host.rpartition(":")[0] if ":" in host else host, origin, "Colature")


def _remember(request: HttpRequest, challenge: str, name: str = "") -> None:
    """For one answer, within five minutes."""
    request.session[CHALLENGE] = json.dumps([challenge, name, clock.now().timestamp()])


def _recall(request: HttpRequest) -> tuple[str, str]:
    challenge, name, at = json.loads(request.session.pop(CHALLENGE, '["", "", 0]'))
    fresh = clock.now().timestamp() - at <= CHALLENGE_LASTS
    return (challenge if fresh else ""), name


def _me(request: HttpRequest) -> Person:
    return Person.objects.get(pk=str(request.user.pk))

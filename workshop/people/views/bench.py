"""Who is at the bench of a shared tablet: by name, PIN or badge; and the password when more is wanted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.contrib import auth, messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import Resolver404, resolve, reverse
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.forms import PlainForm
from workshop.models import Workshop
from workshop.people import badges, bench, guard, pins, rights, signing, throttle
from workshop.people.forms.bench import BadgeForm, PinForm
from workshop.people.forms.entering import AgainForm
from workshop.people.models import Person, Pin
from workshop.web import door, onward, open_door


@open_door("GET")
def tiles(request: HttpRequest) -> HttpResponse:
    """The names, one tap each. On a device that is no tablet of ours: the ordinary sign-in."""
    wanted = request.GET.get("next", "")
    if bench.tablet_of(request) is None:
        return redirect(f"{reverse('people:sign-in')}?{urlencode({'next': wanted})}")
    return _tiles(request, wanted)


@open_door("POST")
def tap(request: HttpRequest, pk: int) -> HttpResponse:
    """A tap on a name: enough where the owner says so, else the way to that person's PIN."""
    wanted, person = request.POST.get("next", ""), _somebody(pk)
    if bench.tablet_of(request) is None:
        return redirect("people:sign-in")
    if person.initial_until is not None:
        messages.info(request, f"{person} has a first password, to be changed before anything else.")
        return redirect(f"{reverse('people:sign-in')}?{urlencode({'next': wanted})}")
    if Workshop.objects.get().bench_by != Workshop.BenchBy.TAP:
        return redirect(f"{reverse('people:bench-pin', args=[pk])}?{urlencode({'next': wanted})}")
    return _come_in(request, person, wanted)


@sensitive_post_parameters()
@open_door()
def pin(request: HttpRequest, pk: int) -> HttpResponse:
    """Six digits of the person whose name was tapped; looked at on an enrolled tablet only."""
    person, tablet = _somebody(pk), bench.tablet_of(request)
    if tablet is None:
        return redirect("people:sign-in")
    form, status = PinForm(request.POST or None, initial={"next": request.GET.get("next", "")}), 200
    if request.method == "POST":

        def who() -> Person:
            pins.check(person=person, tablet=tablet, pin=form.cleaned_data["pin"], at=clock.now())
            return person

        done, status = _by(request, form, who)
        if done:
            return done
    context = {"form": form, "person": person, "has_pin": Pin.objects.filter(person=person).exists()}
    return render(request, "people/pin.html", context, status=status)


@sensitive_post_parameters()
@open_door("POST")
def badge(request: HttpRequest) -> HttpResponse:
    """The square of a badge, read by the camera or by a scanner that types."""
    tablet, form = bench.tablet_of(request), BadgeForm(request.POST)
    if tablet is None:
        return redirect("people:sign-in")

    def who() -> Person:
        return badges.whose(text=form.cleaned_data["code"], tablet=tablet, at=clock.now())

    done, status = _by(request, form, who)
    return done or _tiles(request, request.POST.get("next", ""), form, status)


@open_door("POST")
def leave(request: HttpRequest) -> HttpResponse:
    """ "Not you?", and the lock after quiet minutes: the name is given up, the page is remembered."""
    wanted = onward(request, request.POST.get("next", ""))
    auth.logout(request)
    if bench.tablet_of(request) is not None and _is_board(wanted):
        return redirect(wanted)
    return redirect(f"{reverse('people:bench')}?{urlencode({'next': wanted})}")


@door(rights.SEE, "POST")
def here(request: HttpRequest) -> HttpResponse:
    """A sign of life of a hand that reads or types without asking for a page."""
    return HttpResponse(status=204)


@sensitive_post_parameters()
@door(rights.SEE)
def again(request: HttpRequest) -> HttpResponse:
    """The password of whoever is at the bench; right, it leads back to what it was asked for."""
    if request.method != "POST":
        return render(request, "people/again.html", {"next": request.GET.get("next", "")})
    form, status, person = AgainForm(request.POST), 422, request.user
    if form.is_valid():
        at, asked = clock.now(), form.cleaned_data
        try:
            signing.confirm(person=person, password=asked["present"], at=at)  # type: ignore[arg-type]
        except Refused as refusal:
            form.add_error("present", refusal.sentence)
            status = 429 if isinstance(refusal, throttle.TooMany) else 422
        else:
            bench.password_given(request, at)
            return redirect(onward(request, asked["next"]))
    context: dict[str, Any] = {"wrong": form.errors.get("present"), "next": request.POST.get("next", "")}
    return render(request, "people/again.html", context, status=status)


def _by(request: HttpRequest, form: PlainForm, who: Callable[[], Person]) -> tuple[HttpResponse | None, int]:
    """The bench for whom `who` finds, or the status with which the form says why not."""
    if not form.is_valid():
        return None, 422
    try:
        person = who()
    except Refused as refusal:
        form.add_error(refusal.field, refusal.sentence)
        return None, 429 if isinstance(refusal, throttle.TooMany) else 422
    return _come_in(request, person, form.cleaned_data["next"]), 302


def _come_in(request: HttpRequest, person: Person, wanted: str) -> HttpResponse:
    bench.come_in(request, person)
    guard.begin(request, clock.now().timestamp())
    return redirect(onward(request, wanted))


def _tiles(
    request: HttpRequest, wanted: str, form: BadgeForm | None = None, status: int = 200
) -> HttpResponse:
    context = {
        "people": Person.objects.filter(is_active=True).order_by("name", "pk"),
        "next": wanted,
        "form": form or BadgeForm(initial={"next": wanted}),
    }
    return render(request, "people/bench.html", context, status=status)


def _is_board(url: str) -> bool:
    """True for a page that stays readable when nobody is at the bench; it shows the names itself."""
    try:
        return bool(getattr(resolve(urlsplit(url).path).func, "board", False))
    except Resolver404:
        return False


def _somebody(pk: int) -> Person:
    return get_object_or_404(Person, pk=pk, is_active=True)

"""The workshop's tablets: the owner's list, and the page a new tablet opens once."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.people import bench, rights, staff, tablets, throttle
from workshop.people.forms.bench import BenchForm, EnrolForm, TabletForm
from workshop.people.models import Tablet
from workshop.web import ActForm, act, door, open_door


@door(rights.OWN)
def tablet_list(request: HttpRequest) -> HttpResponse:
    """All tablets, and a code for one more; the code shows in the answer to the POST only."""
    form, shown = TabletForm(request.POST or None), []

    def do(at: datetime) -> str:
        shown.append(tablets.make_code(by=_by(request), at=at, **form.values()))
        return reverse("people:tablets")

    done = act(request, form, name="make tablet code", do=do)
    if shown and done:
        address = request.build_absolute_uri(reverse("people:enrol"))
        context = {"fresh": shown[-1], "address": address, "code_address": f"{address}#{shown[-1].secret}"}
        return render(request, "people/tablet_code.html", context)
    return done or _page(request, form)


@door(rights.OWN, "POST")
def enrol_here(request: HttpRequest) -> HttpResponse:
    """The device in the owner's hand becomes a tablet of the workshop."""
    form, made = TabletForm(request.POST), []

    def do(at: datetime) -> str:
        made.append(tablets.enrol_here(by=_by(request), at=at, **form.values()))
        return reverse("people:tablets")

    done = act(request, form, name="enrol tablet", do=do, said="This tablet is enrolled.")
    if made and done:
        _hand_over(request, done, made[-1])
    return done or _page(request, form)


@door(rights.OWN, "POST")
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    tablet, form = get_object_or_404(Tablet, pk=pk), ActForm(request.POST)

    def do(at: datetime) -> str:
        tablets.revoke(tablet=tablet, by=_by(request), at=at)
        return reverse("people:tablets")

    said = f"{tablet} is no longer a tablet of the workshop."
    done = act(request, form, name="revoke tablet", do=do, said=said)
    return done or _page(request, TabletForm(), pressed=form)


@door(rights.OWN, "POST")
def bench_by(request: HttpRequest) -> HttpResponse:
    """Whether a tap on the name is enough, or a PIN is asked."""
    form = BenchForm(request.POST)

    def do(at: datetime) -> str:
        staff.change_workshop(facts=form.values(), by=_by(request), at=at)
        return reverse("people:tablets")

    done = act(request, form, name="change bench", do=do, said="Saved: it holds from the next name on.")
    return done or _page(request, TabletForm(), bench_form=form)


@sensitive_post_parameters()
@open_door()
def enrol(request: HttpRequest) -> HttpResponse:
    """Opened on the tablet itself: the owner's code makes it one of the workshop's."""
    form, status = EnrolForm(request.POST or None), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                fresh = tablets.enrol(code=form.cleaned_data["code"], at=clock.now())
            except Refused as refusal:
                form.add_error("code", refusal.sentence)
                status = 429 if isinstance(refusal, throttle.TooMany) else 422
            else:
                messages.success(request, f"This is {fresh.tablet} now. Who is at the bench?")
                response = redirect("people:bench")
                return _hand_over(request, response, fresh)
    return render(request, "people/enrol.html", {"form": form}, status=status)


def _hand_over(request: HttpRequest, response: HttpResponse, fresh: tablets.Fresh) -> HttpResponse:
    """The cookie; whoever is signed in here goes on, tied to the tablet from now on."""
    tablets.hand_over(response, fresh.secret)
    request.tablet = fresh.tablet  # type: ignore[attr-defined]
    if request.user.is_authenticated:
        bench.tie_to_tablet(request)
    return response


def _page(
    request: HttpRequest,
    form: TabletForm,
    *,
    pressed: ActForm | None = None,
    bench_form: BenchForm | None = None,
) -> HttpResponse:
    """`pressed` is the refused form of a button beside the main form."""
    enrolled = Tablet.objects.filter(enrolled_at__isnull=False).select_related("enrolled_by")
    context = {
        "form": form,
        "bench_form": bench_form or BenchForm(initial={"bench_by": request.the_workshop.bench_by}),  # type: ignore[attr-defined]
        "tablets": enrolled.order_by("revoked_at", "name"),
        "button": ActForm(),
        "pressed": pressed,
    }
    refused = bool((pressed or bench_form or form).errors)
    return render(request, "people/tablets.html", context, status=422 if refused else 200)


def _by(request: HttpRequest) -> Any:
    return request.user

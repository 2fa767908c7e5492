"""What every view needs: the right to be there, a page or its part, one act per form, plain answers."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any, Protocol

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.cache import patch_vary_headers

from workshop import clock, once
from workshop.errors import Refused
from workshop.models import Workshop

View = Callable[..., HttpResponse]


class MayAct(Protocol):
    def __call__(self, person: Any, right: str) -> bool: ...


def door(right: str, *methods: str) -> Callable[[View], View]:
    """Lets in who has `right`, by `methods` (GET and POST by default); says in words why not."""
    allowed = methods or ("GET", "POST")

    def wrap(view: View) -> View:
        @wraps(view)
        def inside(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            from workshop.people import (
                rights,  # people stand above web; the door asks them at the last moment
            )

            if request.method not in (*allowed, "HEAD", "OPTIONS"):
                return HttpResponseNotAllowed(allowed)
            if not rights.may(request.user, right):  # type: ignore[arg-type]
                return refused_page(request, rights.refusal(right), status=403)
            return view(request, *args, **kwargs)

        inside.right, inside.methods = right, tuple(allowed)  # type: ignore[attr-defined]
        return inside

    return wrap


def refused_page(request: HttpRequest, sentence: str, *, status: int = 409) -> HttpResponse:
    return render(request, "workshop/refused.html", {"sentence": sentence}, status=status)


def page_or_part(
    request: HttpRequest, page: str, part: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """The whole page, or only its part when htmx asked for it."""
    wanted = part if getattr(request, "htmx", False) and not request.htmx.boosted else page  # type: ignore[attr-defined]
    response = render(request, wanted, context, status=status)
    patch_vary_headers(response, ("HX-Request",))
    return response


def fresh_key() -> str:
    """A request key for a new form: 128 random bits."""
    return secrets.token_hex(16)


class ActForm(forms.Form):
    """A form that is applied once: it carries its own request key from the moment it is shown."""

    once_key = forms.CharField(widget=forms.HiddenInput, initial=fresh_key, max_length=100)

    def values(self) -> dict[str, Any]:
        """The cleaned fields without the key, ready to be handed to an action."""
        return {name: value for name, value in self.cleaned_data.items() if name != "once_key"}


def act(
    request: HttpRequest,
    form: ActForm,
    *,
    name: str,
    do: Callable[[datetime], str],
    said: str = "",
) -> HttpResponse | None:
    """Run one action for a valid form, once; answer with a redirect to the URL that `do` returns.

    Returns None when the form is invalid or the action refused; the refusal then stands in the form,
    with everything typed still there. `said` is the message shown afterwards.
    """
    if not form.is_valid():
        return None
    at = clock.now()
    body = {key: value for key, value in request.POST.items() if key != "csrfmiddlewaretoken"}
    try:
        answer = once.perform(
            key=form.cleaned_data["once_key"],
            by=request.user,  # type: ignore[arg-type]
            action=name,
            body=body,
            at=at,
            do=lambda: do(at),
        )
    except Refused as refusal:
        field = refusal.field if refusal.field in form.fields else None
        form.add_error(field, refusal.sentence)
        return None
    if answer.repeated_from is not None:
        zone = Workshop.objects.get().tz
        messages.info(request, f"Already saved at {answer.repeated_from.astimezone(zone):%H:%M}.")
    elif said:
        messages.success(request, said)
    return redirect(answer.value)


class SetupFirstMiddleware:
    """Until the workshop is set up, every page leads to the setup."""

    OPEN = ("/setup/", "/static/", "/health/")

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path.startswith(self.OPEN) and not Workshop.objects.exists():
            return redirect("people:setup")
        return self.get_response(request)


BENCH_NAV = [
    ("Shelf", "batches:shelf"),
    ("Rounds", "batches:rounds"),
    ("Batches", "batches:batches"),
    ("Scan", "inventory:scan"),
]
OFFICE_NAV = [
    ("Formulas", "batches:formulas"),
    ("Storeroom", "inventory:storeroom"),
    ("Reckoner", "batches:reckoner"),
    ("Labels", "batches:labels"),
    ("Trace", "inventory:trace-start"),
    ("Accounts", "inventory:dispatches"),
    ("Staff", "people:staff"),
]


def navigation(request: HttpRequest) -> dict[str, Any]:
    """The two lists of screens, for the frame around every page. A screen not yet built is left out."""
    return {
        "nav": {"bench": _links(request, BENCH_NAV), "office": _links(request, OFFICE_NAV)},
        "the_workshop": Workshop.objects.first(),
    }


def _links(request: HttpRequest, entries: list[tuple[str, str]]) -> list[tuple[str, str, bool]]:
    found = []
    for label, name in entries:
        try:
            url = reverse(name)
        except NoReverseMatch:
            continue
        active = request.path == url or (url != "/" and request.path.startswith(url))
        found.append((label, url, active))
    return found

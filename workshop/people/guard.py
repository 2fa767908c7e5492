"""Who stands at the door: sessions that end by themselves, first passwords that must be changed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from workshop import clock, typed
from workshop.people import bench
from workshop.web import came_from

STARTED, SEEN = "started", "seen"
QUIET = "X-Quiet"
WRITE_EVERY = timedelta(seconds=15)
AWAY = "You were signed out after a while. Sign in to go on."
LOCKED = "The tablet locked itself after a few quiet minutes. What was typed is kept."
LOOKING = ("GET", "HEAD")
WHILE_FIRST_PASSWORD = ("people:password", "people:sign-out")


def begin(request: HttpRequest, at: float) -> None:
    """Marks a fresh session: its age, its last sign of life (seconds of the epoch), and its tablet."""
    request.session[STARTED] = request.session[SEEN] = at
    bench.tie_to_tablet(request)


class SignedInMiddleware(LoginRequiredMiddleware):
    """Every page but the open ones wants a person, signed in not too long ago and not gone quiet."""

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., Any], view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        if request.user.is_authenticated:
            if self._is_over(request):
                logout(request)
                messages.info(request, LOCKED if bench.tablet_of(request) else AWAY)
            elif bench.has_strayed(request):
                logout(request)
                messages.info(request, "This tablet is no longer one of the workshop's. Sign in to go on.")
            elif self._must_change(request):
                return redirect("people:password")
        if request.user.is_authenticated:
            bench.narrow(request, clock.now().timestamp())
        elif bench.tablet_of(request) and getattr(view_func, "board", False) and request.method in LOOKING:
            request.user = bench.Nobody()  # type: ignore[assignment]
            return None
        answer: HttpResponseBase | None = super().process_view(request, view_func, view_args, view_kwargs)
        return answer

    def _is_over(self, request: HttpRequest) -> bool:
        """True past the age or the quiet time; else notes the sign of life, every quarter of a minute.

        What a page asks by itself is no sign of life: it says so in a header.
        """
        at = clock.now().timestamp()
        if STARTED not in request.session:
            begin(request, at)
        started, seen = request.session[STARTED], request.session[SEEN]
        if at - started > settings.SESSION_COOKIE_AGE or at - seen > bench.idle_seconds(request):
            return True
        if at - seen > WRITE_EVERY.total_seconds() and QUIET not in request.headers:
            request.session[SEEN] = at
        return False

    def _must_change(self, request: HttpRequest) -> bool:
        match = request.resolver_match
        where = match.view_name if match else ""
        return request.user.initial_until is not None and where not in WHILE_FIRST_PASSWORD  # type: ignore[union-attr]

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., Any]
    ) -> HttpResponse:
        """To the sign-in and back to the page. htmx would follow a redirect into a part: it gets a 401.

        On a tablet of the workshop the sign-in is a tap on the name. A form that comes too late is kept for
        whose it is.
        """
        typed.keep_sent(request, page=came_from(request), at=clock.now())
        where = "people:bench" if bench.tablet_of(request) else "people:sign-in"
        url = f"{reverse(where)}?{urlencode({'next': came_from(request)})}"
        if request.headers.get("HX-Request") == "true":
            return HttpResponse(status=401, headers={"HX-Redirect": url})
        return redirect(url)

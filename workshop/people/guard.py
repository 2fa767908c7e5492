"""Who stands at the door: sessions that end by themselves, first passwords that must be changed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from workshop import clock

STARTED, SEEN = "started", "seen"
WRITE_EVERY = timedelta(minutes=1)
WHILE_FIRST_PASSWORD = ("people:password", "people:sign-out")


def begin(request: HttpRequest, at: float) -> None:
    """Marks a fresh session: its age and its last sign of life, in seconds of the epoch."""
    request.session[STARTED] = request.session[SEEN] = at


class SignedInMiddleware(LoginRequiredMiddleware):
    """Every page but the open ones wants a person, signed in not too long ago and not gone quiet."""

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., Any], view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        if request.user.is_authenticated:
            if self._is_over(request):
                logout(request)
                messages.info(request, "You were signed out after a while. Sign in to go on.")
            elif self._must_change(request):
                return redirect("people:password")
        answer: HttpResponseBase | None = super().process_view(request, view_func, view_args, view_kwargs)
        return answer

    def _is_over(self, request: HttpRequest) -> bool:
        """True past the age or the quiet time; else notes the sign of life, at most once a minute."""
        at = clock.now().timestamp()
        if STARTED not in request.session:
            begin(request, at)
        started, seen = request.session[STARTED], request.session[SEEN]
        if at - started > settings.SESSION_COOKIE_AGE or at - seen > settings.SESSION_IDLE_SECONDS:
            return True
        if at - seen > WRITE_EVERY.total_seconds():
            request.session[SEEN] = at
        return False

    def _must_change(self, request: HttpRequest) -> bool:
        match = request.resolver_match
        where = match.view_name if match else ""
        return request.user.initial_until is not None and where not in WHILE_FIRST_PASSWORD  # type: ignore[union-attr]

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., Any]
    ) -> HttpResponse:
        """To the sign-in and back to the page. htmx would follow a redirect into a part: it gets a 401."""
        url = f"{reverse('people:sign-in')}?{urlencode({'next': self._way_back(request)})}"
        if request.headers.get("HX-Request") == "true":
            return HttpResponse(status=401, headers={"HX-Redirect": url})
        return redirect(url)

    def _way_back(self, request: HttpRequest) -> str:
        """The page looked at. A form's own address is no page: then the one it was sent from."""
        if request.method in ("GET", "HEAD") and request.headers.get("HX-Request") != "true":
            return request.get_full_path()
        origin = urlsplit(request.headers.get("HX-Current-URL") or request.headers.get("Referer") or "")
        if origin.netloc != request.get_host():
            return "/"
        return origin.path + (f"?{origin.query}" if origin.query else "")

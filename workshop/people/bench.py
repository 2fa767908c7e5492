"""The bench session: what a person may do who came in by name tile, PIN or badge on an enrolled tablet.

For each request `narrow` leaves them the rights SEE and BENCH; every other right answers 403 with the page
that asks for their password (`workshop.web.not_allowed`). Given there, it opens the rest for a few minutes.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib import auth
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest

from workshop.people import rights
from workshop.people.models import Person, Tablet


class Nobody(AnonymousUser):
    """An enrolled tablet with nobody at it: the Shelf and the Rounds stay readable, and nothing more."""

    units = theme = name = ""
    glove = left_handed = False
    narrowed = rights.AT_THE_BENCH

    def may(self, right: str) -> bool:
        return right == rights.SEE

    def may_by_password(self, right: str) -> bool:
        return False

    def refusal(self, right: str) -> str:
        return "Nobody is at the bench. Tap your name first."


BENCH, TABLET, PASSWORD_UNTIL = "bench", "tablet", "password_until"


def come_in(request: HttpRequest, person: Person) -> None:
    """A bench session for `person` under a new key; what the last one's session held is gone.

    The caller marks its beginning (`guard.begin`).
    """
    auth.logout(request)
    auth.login(request, person)
    request.session[BENCH] = True


def at_bench(request: HttpRequest) -> bool:
    """True when the person came in by name tile, PIN or badge."""
    return bool(request.session.get(BENCH))


def password_given(request: HttpRequest, at: datetime) -> None:
    """The rest is open for a few minutes, under a new session key."""
    request.session.cycle_key()
    request.session[PASSWORD_UNTIL] = at.timestamp() + settings.PASSWORD_GIVEN_SECONDS


def narrow(request: HttpRequest, at: float) -> None:
    """The few rights of a bench session, for this request."""
    if at_bench(request) and request.session.get(PASSWORD_UNTIL, 0) <= at:
        person: Any = request.user
        person.narrowed = rights.AT_THE_BENCH


def tie_to_tablet(request: HttpRequest) -> None:
    """A session begun on an enrolled tablet lives only there, and only while it is enrolled."""
    tablet = tablet_of(request)
    if tablet is not None:
        request.session[TABLET] = tablet.pk


def has_strayed(request: HttpRequest) -> bool:
    """True when the session's tablet was revoked since, or its cookie is not this device's."""
    begun_on = request.session.get(TABLET)
    tablet = tablet_of(request)
    here = tablet.pk if tablet else None
    return begun_on != here if begun_on is not None or at_bench(request) else False


def idle_seconds(request: HttpRequest) -> int:
    """How long a session may be quiet: shorter where the next hand may be another person's."""
    shared = tablet_of(request) is not None
    return settings.TABLET_IDLE_SECONDS if shared else settings.SESSION_IDLE_SECONDS


def tablet_of(request: HttpRequest) -> Tablet | None:
    return getattr(request, "tablet", None)

"""The private calendar, for programs that have no session: the address itself is the key."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils.cache import get_conditional_response

from workshop import clock
from workshop.people import throttle
from workshop.reminders import feed
from workshop.web import open_door

GONE = "There is no calendar at this address. Its owner may have renewed it: ask them for the new one."


@open_door("GET")
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """The document with its ETag; 404 for any other address, and 429 after too many of those.

    A right address is served even then: it is 128 random bits, and behind a proxy everybody comes from one
    address, so that a stranger's guesses must not keep people from their calendars.
    """
    at = clock.now()
    person = feed.whose(token=token)
    if person is None:
        return _guessed(request, at)
    body = feed.calendar_of(person=person, at=at)
    etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response.headers["ETag"] = etag
    response.headers["Content-Disposition"] = 'inline; filename="reminders.ics"'
    return get_conditional_response(request, etag, None, response) or response


def _guessed(request: HttpRequest, at: datetime) -> HttpResponse:
    who = throttle.key_for("calendar", request.META.get("REMOTE_ADDR", ""))
    if throttle.is_closed(key=who, at=at):
        return _plainly("Too many tries from here. Wait a minute.", 429, {"Retry-After": "60"})
    throttle.count(key=who, rule=throttle.CALENDAR, at=at)
    return _plainly(GONE, 404)


def _plainly(sentence: str, status: int, headers: dict[str, str] | None = None) -> HttpResponse:
    """Words without a page. Django notes refused addresses in its log: not this one, it may hold a key."""
    answer = HttpResponse(f"{sentence}\n", status=status, content_type="text/plain; charset=utf-8")
    for name, value in (headers or {}).items():
        answer.headers[name] = value
    answer._has_been_logged = True  # type: ignore[attr-defined]
    return answer

"""The workshop's tablets: enrolled by a one-time code, known by a cookie, revoked by the owner."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.http import HttpRequest, HttpResponse

from workshop import clock
from workshop.errors import Refused
from workshop.people import passwords, rights, throttle
from workshop.people.models import Person, Tablet

CODE_LASTS = timedelta(minutes=10)
COOKIE_LASTS = timedelta(days=400)  # the most that browsers keep a cookie: RFC 6265bis, section 5.5
SEEN_EVERY = timedelta(minutes=5)
THROTTLE_KEY = "tablet-code"
WRONG_CODE = (
    "This code enrols no tablet. It lasts ten minutes and works once; "
    "the owner makes another under Staff, Tablets."
)


@dataclass(frozen=True, slots=True)
class Fresh:
    """A tablet with what is shown or handed over once and kept as a hash only: its code, or its token."""

    tablet: Tablet
    secret: str


@transaction.atomic
def make_code(*, name: str, by: Person, at: datetime) -> Fresh:
    """A tablet-to-be with a one-time code of 40 bits, good for ten minutes."""
    return _to_be(name, by, at)


def _to_be(name: str, by: Person, at: datetime) -> Fresh:
    _owner_only(by)
    if Tablet.objects.filter(name__iexact=name, revoked_at=None, enrolled_at__isnull=False).exists():
        raise Refused(f"A tablet is called {name} already. Give this one another name.", field="name")
    code = passwords.spoken_code(groups=2)
    tablet = Tablet.objects.create(
        name=name, code_digest=_code_digest(code), code_until=at + CODE_LASTS, made_at=at, enrolled_by=by
    )
    return Fresh(tablet, code)


@transaction.atomic
def enrol_here(*, name: str, by: Person, at: datetime) -> Fresh:
    """The device in the owner's own hand, without a code."""
    return _enrol(_to_be(name, by, at).tablet, at)


def enrol(*, code: str, at: datetime) -> Fresh:
    """The tablet of this code, with the token for its cookie: 256 random bits.

    Raises `Refused` for a code that is wrong, used or past its time, `TooMany` after too many of them.
    """
    try:
        throttle.claim(key=THROTTLE_KEY, rule=throttle.CODE, at=at)
    except throttle.TooMany as refusal:
        raise throttle.TooMany(refusal.sentence, field="code") from refusal
    with transaction.atomic():
        waiting = Tablet.objects.select_for_update().filter(revoked_at=None, code_until__gt=at)
        tablet = waiting.filter(code_digest=_code_digest(code)).exclude(code_digest="").first()
        if tablet is None:
            raise Refused(WRONG_CODE, field="code")
        fresh = _enrol(tablet, at)
    throttle.forgive(key=THROTTLE_KEY)
    return fresh


@transaction.atomic
def revoke(*, tablet: Tablet, by: Person, at: datetime) -> Tablet:
    """No longer one of ours: whoever is signed in on it is out at the next tap. Revoking twice is once."""
    _owner_only(by)
    found = Tablet.objects.select_for_update().get(pk=tablet.pk)
    if found.revoked_at is None:
        found.revoked_at, found.code_digest, found.code_until = at, "", None
        found.save(update_fields=["revoked_at", "code_digest", "code_until"])
    return found


def of_token(token: str) -> Tablet | None:
    """The tablet whose cookie holds this token, unless it was revoked."""
    if not token:
        return None
    return Tablet.objects.filter(digest=_digest(token), revoked_at=None).first()


def hand_over(response: HttpResponse, token: str) -> None:
    """The cookie that names the tablet from now on; no script can read it."""
    response.set_cookie(
        settings.TABLET_COOKIE_NAME,
        token,
        max_age=COOKIE_LASTS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


class TabletMiddleware:
    """`request.tablet`: the enrolled tablet that this request comes from, or None. Keeps its cookie alive."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        token = request.COOKIES.get(settings.TABLET_COOKIE_NAME, "")
        tablet = None if request.path.startswith("/static/") else of_token(token)
        request.tablet = tablet  # type: ignore[attr-defined]
        response = self.get_response(request)
        enrolled_now = settings.TABLET_COOKIE_NAME in response.cookies
        if tablet is not None and not enrolled_now and self._was_seen(tablet):
            hand_over(response, token)
        return response

    def _was_seen(self, tablet: Tablet) -> bool:
        """Notes that it was here, now and then; true when it did."""
        at = clock.now()
        if tablet.seen_at is not None and at - tablet.seen_at < SEEN_EVERY:
            return False
        return bool(Tablet.objects.filter(pk=tablet.pk, revoked_at=None).update(seen_at=at))


def _enrol(tablet: Tablet, at: datetime) -> Fresh:
    token = secrets.token_urlsafe(32)
    tablet.digest, tablet.code_digest, tablet.code_until = _digest(token), "", None
    tablet.enrolled_at = tablet.seen_at = at
    tablet.save()
    return Fresh(tablet, token)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _code_digest(code: str) -> str:
    return _digest(passwords.as_typed(code))


def _owner_only(by: Person) -> None:
    if not by.may(rights.OWN):
        raise Refused(by.refusal(rights.OWN))

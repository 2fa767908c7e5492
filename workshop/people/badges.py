"""Printed badges: a square that the tablet reads, for whoever remembers no digits (WCAG 2.2, 3.3.8)."""

from __future__ import annotations

import base64
import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.template.loader import render_to_string

from workshop import pdf
from workshop.charts import qr
from workshop.errors import Refused
from workshop.people import rights, throttle
from workshop.people.models import Badge, Person, Tablet

MARK = "CLB1:"  # says what the square is before it says whose
UNKNOWN = "This badge opens nothing: it was taken back, or it is none of ours. Take your name or password."
ON_A_TABLET = throttle.Rule(20, timedelta(seconds=30), timedelta(minutes=15), timedelta(hours=1))


@dataclass(frozen=True, slots=True)
class Printed:
    """A badge with what its square holds, known only while it is printed."""

    badge: Badge
    text: str


@transaction.atomic
def make(*, person: Person, by: Person, at: datetime) -> Printed:
    """A new badge of 128 random bits; the earlier ones of this person open nothing any more."""
    _theirs_or_owners(person, by)
    Badge.objects.filter(person=person, revoked_at=None).update(revoked_at=at)
    text = MARK + base64.b32encode(secrets.token_bytes(16)).decode().rstrip("=")
    return Printed(Badge.objects.create(person=person, digest=_digest(text), made_at=at), text)


@transaction.atomic
def take_back(*, person: Person, by: Person, at: datetime) -> int:
    """No badge of theirs opens anything; returns how many there were."""
    _theirs_or_owners(person, by)
    return Badge.objects.filter(person=person, revoked_at=None).update(revoked_at=at)


def whose(*, text: str, tablet: Tablet, at: datetime) -> Person:
    """The person of this badge. Raises `Refused` for any other text, `TooMany` after too many of them."""
    key = f"badge-tablet:{tablet.pk}"
    throttle.claim(key=key, rule=ON_A_TABLET, at=at)
    found = Badge.objects.filter(digest=_digest(text), revoked_at=None, person__is_active=True)
    badge = found.select_related("person").first()
    if badge is None or badge.person.initial_until is not None:
        raise Refused(UNKNOWN, field="code")
    throttle.give_back(key=key)
    return badge.person


def sheet(printed: Printed, *, workshop: str, paper: str) -> bytes:
    """The badge on paper, to be cut out. `paper` is A4 or Letter."""
    name = printed.badge.person.name
    context = {
        "name": name,
        "workshop": workshop,
        "square": qr.square(printed.text, label=f"Badge of {name}"),
    }
    html = render_to_string("people/badge_sheet.html", context)
    css = render_to_string("people/badge_sheet.css", {"paper": paper})
    return pdf.titled(pdf.render(html, css=css), f"Badge of {name}")


def _digest(text: str) -> str:
    return hashlib.sha256("".join(text.split()).upper().encode()).hexdigest()


def _theirs_or_owners(person: Person, by: Person) -> None:
    if by.pk != person.pk and not by.may(rights.OWN):
        raise Refused("A badge is made for oneself, or by the owner.")

"""The frame around every page: its screens, the person's own view of them, and what its scripts are told."""

from __future__ import annotations

from functools import cache
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from workshop.strays import came_from

BENCH_NAV = [
    ("Shelf", "batches:shelf", "see"),
    ("Rounds", "batches:rounds", "see"),
    ("Batches", "batches:batches", "see"),
    ("Scan", "inventory:scan", "see"),
]
OFFICE_NAV = [
    ("Formulas", "batches:formulas", "see"),
    ("Storeroom", "inventory:storeroom", "see"),
    ("Reckoner", "batches:reckoner", "see"),
    ("Labels", "batches:labels", "see"),
    ("Trace", "inventory:trace-start", "see"),
    ("Accounts", "inventory:dispatches", "see"),
    ("Reminders", "reminders:mine", "plan"),
    ("Staff", "people:staff", "own"),
    ("Workshop", "people:workshop", "own"),
]


def navigation(request: HttpRequest) -> dict[str, Any]:
    """The two lists of screens, for the frame around every page. A screen not yet built is left out."""
    workshop = getattr(request, "the_workshop", None)
    if not (workshop and hasattr(request.user, "may")):
        return {"nav": {}, "the_workshop": workshop}
    office = _links(request, OFFICE_NAV)
    nav = {
        "bench": _links(request, BENCH_NAV),
        "office": office,
        "in_office": any(active for _, _, active in office),
        "preferences_url": reverse("people:preferences"),
        "view_url": reverse("people:view"),
        "theme": request.user.theme,  # type: ignore[union-attr]
        "hands": _hands(request.user),
        "mark": workshop.decimal_mark,
        "again_url": _again_url(request),
        "sign_out_url": reverse("people:sign-out"),
        "typed_url": reverse("people:typed") if request.user.is_authenticated else "",
        "locks": settings.TABLET_IDLE_SECONDS if getattr(request, "tablet", None) else 0,
        "here_url": reverse("people:bench-here"),
    }
    return {"nav": nav, "the_workshop": workshop}


def _hands(person: Any) -> str:
    """Classes of the body for how a person's hands work, each after a space."""
    return " glove" * person.glove + " left" * person.left_handed


def _again_url(request: HttpRequest) -> str:
    """Where somebody at the bench gives their password, when that would open more."""
    if not request.user.is_authenticated or getattr(request.user, "narrowed", None) is None:
        return ""
    return f"{reverse('people:again')}?{urlencode({'next': came_from(request)})}"


def _links(request: HttpRequest, entries: list[tuple[str, str, str]]) -> list[tuple[str, str, bool]]:
    found = []
    for label, name, right in entries:
        url = _address(name)
        if not url:
            continue
        active = request.path == url or (url != "/" and request.path.startswith(url))
        if request.user.may(right):  # type: ignore[union-attr]
            found.append((label, url, active))
    return found


@cache  # the same for everybody and for as long as the process lives
def _address(name: str) -> str:
    """Where a screen is; empty while it is not built."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""

"""Which pages a tablet keeps, which acts wait in its outbox, and what every page tells it."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.urls import get_resolver
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.functional import SimpleLazyObject

from workshop import arrivals, capture, clock
from workshop.offline import waiting
from workshop.people import bench, rights

# Names of addresses: the pages at the bench that open without Wi-Fi, and the acts that wait.
KEPT = frozenset(
    {"batches:shelf", "batches:rounds", "batches:batch", "batches:act", "batches:pot", "offline:waiting"}
)
WAITS = ("batches:act", "batches:pot", "batches:rounds-shake", "batches:rounds-all", "batches:rounds-settle")
NOBODY = "nobody"


def who(request: HttpRequest) -> str:
    """A name for the person that says nothing of them, under which a tablet keeps their pages."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return NOBODY
    return salted_hmac("colature.kept", str(user.pk), algorithm="sha256").hexdigest()[:16]


def context(request: HttpRequest) -> dict[str, Any]:
    """For the frame around every page: what the outbox needs to know, and what the owner should see.

    Worked out where the frame shows it: a part alone asks for none of it.
    """
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated or not getattr(request, "the_workshop", None):
        return {}
    found: dict[str, Any] = {"outbox": SimpleLazyObject(lambda: told(request))}
    if user.may(rights.OWN):
        found["waits"] = SimpleLazyObject(_owners_look)
    return found


def _owners_look() -> dict[str, Any]:
    """What waits too long on a tablet, and how many entries were not taken."""
    overdue, not_taken = waiting.owners_look(clock.now())
    return {"overdue": overdue, "not_taken": not_taken}


def told(request: HttpRequest) -> dict[str, str]:
    """Whose page it is, and the token and key with which its entries are sealed."""
    stands = arrivals.sender(request)
    token = capture.token(person=stands.person, tablet=stands.tablet, at=clock.now())
    return {
        "who": who(request),
        "name": str(request.user),
        "token": token,
        "key": capture.seal_key(token),
        "waits": waits_pattern(),
        "idle": str(bench.idle_seconds(request)),
        "csrf": get_token(request),
    }


@cache
def waits_pattern() -> str:
    """A regular expression of the addresses whose acts wait, for the script."""
    return "|".join(f"^/{_pattern(name)}$" for name in WAITS)


def _pattern(name: str) -> str:
    space, _, bare = name.partition(":")
    prefix, resolver = get_resolver().namespace_dict[space]
    shapes = resolver.reverse_dict.getlist(bare)
    (path, names), *_ = shapes[0][0]
    found = re.escape(prefix + path).replace("%%", "%")
    for each in names:
        found = found.replace(re.escape(f"%({each})s"), "[^/]+")
    return found


def mark(request: HttpRequest, response: HttpResponse) -> None:
    """Tell the service worker whose page this is, and whether to keep it for a time without Wi-Fi."""
    if request.method != "GET" or not response.get("Content-Type", "").startswith("text/html"):
        return
    response["X-Kept-For"] = who(request)
    match = request.resolver_match
    whole = "HX-Request" not in request.headers
    if match and match.view_name in KEPT and response.status_code == 200 and whole:
        response["X-As-Of"] = f"{timezone.localtime(clock.now()):%H:%M on %-d %B}"

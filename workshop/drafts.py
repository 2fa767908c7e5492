"""What somebody had typed when another page had to come first: kept for an hour, for that page's return."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils.http import url_has_allowed_host_and_scheme

from workshop import clock

KEPT = timedelta(hours=1)
MOST = 4  # drafts of one session; the oldest goes
LARGEST = 40_000  # characters; more than any page of ours asks for
SHELF = "drafts"


@dataclass(frozen=True, slots=True)
class Draft:
    """The fields of one form, as they were sent."""

    form: str
    typed: QueryDict


_asking: ContextVar[HttpRequest | None] = ContextVar("asking", default=None)
_asked_at: ContextVar[datetime | None] = ContextVar("asked_at", default=None)
_open: ContextVar[Draft | None] = ContextVar("draft", default=None)


def asking() -> HttpRequest | None:
    """The request under way; None outside of one."""
    return _asking.get()


def asked_at() -> datetime | None:
    """When the request under way came; None outside of one."""
    return _asked_at.get()


def opened(form: str = "") -> Draft | None:
    """The draft that this page was asked to show again; with a `form`, only when it is that form's."""
    draft = _open.get()
    return draft if draft is not None and form in ("", draft.form) else None


def keep(request: HttpRequest, *, form: str, key: str, typed: Mapping[str, Any], at: datetime) -> str:
    """Keep what was typed in the session; returns the address that shows the form with it again.

    Hand over no password. What is larger than any form of ours is not kept: the address is the bare page.
    """
    fields = {name: [str(one) for one in values] for name, values in typed.items()}
    size = sum(len(name) + sum(map(len, values)) for name, values in fields.items())
    query = {name: value for name, value in request.GET.items() if name != "draft"}
    if size <= LARGEST:
        drafts = _fresh(request.session.get(SHELF, {}), at)
        drafts[key] = {"at": at.timestamp(), "path": request.path, "form": form, "typed": fields}
        latest = sorted(drafts.items(), key=lambda one: one[1]["at"])[-MOST:]
        request.session[SHELF] = dict(latest)
        query["draft"] = key
    return f"{request.path}?{urlencode(query)}" if query else request.path


def _fresh(drafts: Mapping[str, Any], at: datetime) -> dict[str, Any]:
    since = (at - KEPT).timestamp()
    return {key: draft for key, draft in drafts.items() if draft["at"] >= since}


def _asked(request: HttpRequest, at: datetime) -> Draft | None:
    key = request.GET.get("draft") if request.method == "GET" else None
    if not key or not hasattr(request, "session"):
        return None
    kept = _fresh(request.session.get(SHELF, {}), at).get(key)
    if kept is None or kept["path"] != request.path:
        return None
    return Draft(kept["form"], _query(kept["typed"]))


def _query(fields: Mapping[str, Sequence[str]]) -> QueryDict:
    typed = QueryDict(mutable=True)
    for name, values in fields.items():
        typed.setlist(name, list(values))
    return typed


class DraftsMiddleware:
    """Opens the draft that an address names, and says who asks and when, for this request only."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        at = clock.now()
        token, asking, asked = _open.set(_asked(request, at)), _asking.set(request), _asked_at.set(at)
        try:
            return self.get_response(request)
        finally:
            _open.reset(token)
            _asking.reset(asking)
            _asked_at.reset(asked)


def way_back(request: HttpRequest, otherwise: str) -> str:
    """The page of ours that form or address names as `back`, else `otherwise`; never another site's."""
    url = request.POST.get("back") or request.GET.get("back") or ""
    ours = url.startswith("/") and url_has_allowed_host_and_scheme(url, allowed_hosts=None)
    return url if ours else otherwise

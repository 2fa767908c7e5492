"""How an outbox is answered: saved, kept back for later, or refused with a reason that stays."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse

from workshop import arrivals, capture, clock
from workshop.offline import pages, waiting
from workshop.offline.forms import as_shown
from workshop.offline.models import RefusedEntry

INSTEAD, LABEL = "X-Instead-Of", "X-Label"
NOT_TAKEN = "The page it was made on does not take this any more. Open the batch and see what it wants."
SIGNED_OUT = "You were signed out since. Sign in, and it is sent."


class OutboxMiddleware:
    """Marks pages for the tablet, and gives every entry of an outbox one of three plain answers."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.method == "POST" and capture.waits(request.headers):
            return answer(request, response)
        pages.mark(request, response)
        return response


def answer(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """2xx: in the books. 401, 403 and 5xx: keep it and stop. 4xx: refused, with the reason.

    While the person still stands at the form, a refusal is the page itself, to be shown.
    """
    if getattr(response, "saved", False):
        return _settled(request, response)
    if not request.user.is_authenticated:
        return JsonResponse({"reason": SIGNED_OUT}, status=401)
    if response.status_code == 403 or response.status_code >= 500:
        return response
    if not arrivals.replayed(request):
        if response.status_code < 300:
            response.status_code = 409
        return response if response.status_code >= 400 else _refused(request, response)
    return _refused(request, response)


def _refused(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    reason, at = _reason(request), clock.now()
    with suppress(
        ValueError
    ):  # a key or a text that no database takes: the tablet keeps the entry all the same
        waiting.refuse(arrival=_arrival(request), reason=reason, by=request.user, at=at)  # type: ignore[arg-type]
    status = response.status_code if response.status_code in (404, 405, 413, 422) else 409
    return JsonResponse({"state": "refused", "reason": reason}, status=status)


def _reason(request: HttpRequest) -> str:
    form = getattr(request, "act_form", None)
    said = [str(one) for found in form.errors.values() for one in found] if form is not None else []
    return " ".join(dict.fromkeys(said)) or NOT_TAKEN


def _arrival(request: HttpRequest) -> waiting.Arrival:
    fields, form = arrivals.sealed_fields(request), getattr(request, "act_form", None)
    fields = as_shown(form, fields) if form is not None else [one for one in fields if one[0] != "once_key"]
    return waiting.Arrival(
        key=request.headers.get(capture.KEY, "").replace("\0", ""),
        path=request.path,
        label=_label(request),
        typed=[[part.replace("\0", "") for part in pair] for pair in fields],
        tablet=arrivals.sender(request).name,
        captured_at=_captured(request),
    )


def _label(request: HttpRequest) -> str:
    """The words of the button, sent as JSON in ASCII: a header carries no other signs."""
    with suppress(ValueError):
        return str(json.loads(request.headers.get(LABEL, '""'))).replace("\0", "")
    return ""


def _captured(request: HttpRequest) -> datetime | None:
    with suppress(ValueError):
        found = datetime.fromisoformat(request.headers.get(capture.CAPTURED, ""))
        return found if found.tzinfo else None
    return None


def _settled(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """What was refused before and is in the books now, by itself or corrected, needs nobody any more."""
    by: Any = request.user
    outcomes = RefusedEntry.Outcome
    keys = {
        request.headers.get(INSTEAD): outcomes.CORRECTED,
        request.headers.get(capture.KEY): outcomes.TAKEN,
    }
    for key, outcome in keys.items():
        if key and waiting.unsettled(by).filter(pk=key).exists():
            waiting.settle(key=key, outcome=outcome, by=by, at=clock.now())
    return response

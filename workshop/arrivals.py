"""At the edge: which entry a request carries, and how an entry that waited on a tablet is answered."""

from __future__ import annotations

import hashlib
import re
from datetime import datetime

from django.http import HttpRequest, HttpResponse, JsonResponse

from workshop import capture
from workshop.errors import Refused

NEWLINE = re.compile(r"\r\n?")


def sender(request: HttpRequest) -> capture.Sender:
    """The person and the tablet behind a request."""
    tablet = getattr(request, "tablet", None)
    name = str(tablet)[:60] if tablet is not None else ""
    return capture.Sender(request.user.pk or 0, tablet.pk if tablet is not None else 0, name)


def capture_of(request: HttpRequest, *, once: str, at: datetime) -> capture.Capture:
    """The entry of this request, received at `at`. Raises `Refused` as `capture.read` does."""
    waits = capture.waits(request.headers)
    if waits and request.headers.get(capture.KEY) != once:
        raise Refused(capture.CHANGED)
    fields = sealed_fields(request) if waits else []
    return capture.read(request.headers, sender=sender(request), at=at, path=request.path, fields=fields)


def sealed_fields(request: HttpRequest) -> list[list[str]]:
    """Names and values as the page sealed them: by name, line ends as one sign, files by their SHA-256."""
    typed = [
        [name, NEWLINE.sub("\n", value)]
        for name, values in request.POST.lists()
        for value in values
        if name != "csrfmiddlewaretoken"
    ]
    files = [
        [name, hashlib.sha256(b"".join(file.chunks())).hexdigest()]
        for name, found in request.FILES.lists()
        for file in found
    ]
    for _, found in request.FILES.lists():
        for file in found:
            file.seek(0)
    return sorted(typed + files, key=lambda pair: pair[0])


def saved(request: HttpRequest, *, url: str) -> HttpResponse | None:
    """The answer for an outbox: it is in the books, and where to go on. None for an ordinary request."""
    if not capture.waits(request.headers):
        return None
    answer = JsonResponse({"state": "saved", "url": url})
    answer.saved = True  # type: ignore[attr-defined]
    return answer


def replayed(request: HttpRequest) -> bool:
    """True when nobody stands at the form any more: the entry waited, and is sent again from the tablet."""
    return capture.waits(request.headers) and capture.REPLAY in request.headers

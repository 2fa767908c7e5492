"""Where a page puts what is typed in it, while it is typed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from workshop import clock, typed
from workshop.people import rights
from workshop.web import door


@door(rights.SEE, "POST")
def keep(request: HttpRequest) -> HttpResponse:
    """The fields of one form, for its own person; saved forms are not kept again."""
    asked = request.POST
    key = asked.get("once_key", "")
    if typed.owner_of(key) in (None, request.user.pk):
        typed.keep(
            person=int(request.user.pk or 0),
            page=asked.get("typed-page", ""),
            path=asked.get("typed-to", ""),
            form=asked.get("typed-form", ""),
            key=key,
            fields=dict(asked.lists()),
            at=clock.now(),
        )
    return HttpResponse(status=204)

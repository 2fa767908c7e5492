"""Today's digest on the screen: in the demo, without a mail server, and for whoever has no address."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from workshop import clock
from workshop.people.rights import SEE
from workshop.reminders.queries import todays_digest
from workshop.web import door, page_or_part


@door(SEE, "GET")
def digest(request: HttpRequest) -> HttpResponse:
    today = todays_digest(person=request.user, at=clock.now())  # type: ignore[arg-type]
    return page_or_part(request, "reminders/digest.html", "reminders/_digest.html", {"digest": today})

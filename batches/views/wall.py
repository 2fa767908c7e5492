"""The wall: what is due, read at two metres; it asks again by itself, and says when it last had an answer."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from batches.queries.wall import wall as on_the_wall
from workshop import clock
from workshop.people import rights
from workshop.web import door, page_or_part

EVERY_S = 60


@door(rights.SEE, "GET", board=True)
def wall(request: HttpRequest) -> HttpResponse:
    at, workshop = clock.now(), request.the_workshop  # type: ignore[attr-defined]
    context = {
        "wall": on_the_wall(at=at, zone=workshop.tz),
        "as_of": at,
        "every": EVERY_S,
    }
    return page_or_part(request, "batches/wall.html", "batches/_wall_now.html", context)

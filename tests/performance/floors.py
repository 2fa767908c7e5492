"""Two floors that every page is measured against, under paths where no person is looked up; and two pages
that keep what they read, asked as they are after somebody has written.

The middleware asks for the workshop even here: the table counts that query with the others.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from batches.views.shelf import shelf
from inventory.models import Place
from inventory.views.trace import trace_lot
from workshop import kept


@login_not_required
def nothing(request: HttpRequest) -> HttpResponse:
    """No database of its own."""
    return HttpResponse("ok")


@login_not_required
def one_select(request: HttpRequest) -> HttpResponse:
    """One SELECT of its own."""
    return HttpResponse(Place.objects.values_list("name", flat=True).first())


def anew(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """The view with nothing kept from the look before."""

    @wraps(view)
    def inside(request: HttpRequest, **where: str) -> HttpResponse:
        kept.forget()
        return view(request, **where)

    return inside


urlpatterns = [
    path("anew/shelf/", anew(shelf), name="shelf-anew"),
    path("anew/trace/<str:code>/", anew(trace_lot), name="trace-anew"),
    path("health/nothing/", nothing),
    path("health/one-select/", one_select),
    path("", include("workshop.urls")),
]

"""Two floors that every page is measured against, under paths where no person is looked up.

The middleware asks for the workshop even here: the table counts that query with the others.
"""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from inventory.models import Place


@login_not_required
def nothing(request: HttpRequest) -> HttpResponse:
    """No database of its own."""
    return HttpResponse("ok")


@login_not_required
def one_select(request: HttpRequest) -> HttpResponse:
    """One SELECT of its own."""
    return HttpResponse(Place.objects.values_list("name", flat=True).first())


urlpatterns = [
    path("health/nothing/", nothing),
    path("health/one-select/", one_select),
    path("", include("workshop.urls")),
]

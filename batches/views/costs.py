"""What a batch cost: the owner's page."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from batches.queries.batch import batch_by_number
from batches.queries.costs import cost_of_batch
from workshop.people import rights
from workshop.web import door


@door(rights.OWN, "GET")
def batch_cost(request: HttpRequest, number: int) -> HttpResponse:
    batch = batch_by_number(number)
    if batch is None:
        raise Http404("There is no batch with this number.")
    currency: str = request.the_workshop.currency  # type: ignore[attr-defined]
    found = cost_of_batch(batch, currency) if currency else None
    return render(request, "batches/batch_cost.html", {"batch": batch, "found": found})

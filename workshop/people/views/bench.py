"""Who is at the bench, and the password when more than a name is wanted."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.people import bench, rights, signing, throttle
from workshop.people.forms import AgainForm
from workshop.web import door, onward


@sensitive_post_parameters()
@door(rights.SEE)
def again(request: HttpRequest) -> HttpResponse:
    """The password of whoever is at the bench; right, it leads back to what it was asked for."""
    if request.method != "POST":
        return render(request, "people/again.html", {"next": request.GET.get("next", "")})
    form, status, person = AgainForm(request.POST), 422, request.user
    if form.is_valid():
        at, asked = clock.now(), form.cleaned_data
        try:
            signing.confirm(person=person, password=asked["present"], at=at)  # type: ignore[arg-type]
        except Refused as refusal:
            form.add_error("present", refusal.sentence)
            status = 429 if isinstance(refusal, throttle.TooMany) else 422
        else:
            bench.password_given(request, at)
            return redirect(onward(request, asked["next"]))
    context: dict[str, Any] = {"wrong": form.errors.get("present"), "next": request.POST.get("next", "")}
    return render(request, "people/again.html", context, status=status)

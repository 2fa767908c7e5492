"""In and out."""

from __future__ import annotations

from django.contrib import auth, messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from workshop import clock
from workshop.errors import Refused
from workshop.people import bench, guard, rights, signing, throttle
from workshop.people.forms.entering import SignInForm
from workshop.web import door, onward, open_door


@sensitive_post_parameters()
@open_door()
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated and request.method == "GET":
        return redirect(onward(request, request.GET.get("next", "")))
    if request.method != "POST":
        form = SignInForm(initial={"next": request.GET.get("next", "")})
        return render(request, "people/sign_in.html", {"form": form})
    form, status, at = SignInForm(request.POST), 422, clock.now()
    if form.is_valid():
        login, password = form.cleaned_data["login"], form.cleaned_data["password"]
        try:
            person = signing.who_is_it(request=request, login=login, password=password, at=at)
        except Refused as refusal:
            form.add_error(None, refusal.sentence)
            status = 429 if isinstance(refusal, throttle.TooMany) else 422
        else:
            auth.login(request, person)  # with a new session key, so that a planted one is worth nothing
            guard.begin(request, at.timestamp())
            return redirect(onward(request, form.cleaned_data["next"]))
    return render(request, "people/sign_in.html", {"form": form}, status=status)


@door(rights.SEE, "POST")
def sign_out(request: HttpRequest) -> HttpResponse:
    """Ends the session on the server and asks the browser to drop the pages it kept."""
    auth.logout(request)
    messages.info(request, "You are signed out.")
    response = redirect("people:bench" if bench.tablet_of(request) else "people:sign-in")
    response["Clear-Site-Data"] = '"cache"'
    return response

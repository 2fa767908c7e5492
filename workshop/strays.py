"""Forms that come too late, or in another person's hands: refused in words, and kept for whose they are."""

from __future__ import annotations

from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from workshop import clock, typed

FORM_TOO_OLD = (
    "This form was open for too long, or you signed in again since. Nothing was saved. "
    "Go back, load the page afresh and send it again."
)
SENT = "This form was sent already, and what it said stands. Open the page again to see it."
KEPT_FOR_YOU = (
    "You signed in again since this form was opened. Nothing was saved, and what you typed is kept: "
    "open the page again and send it from there."
)


def came_from(request: HttpRequest) -> str:
    """The page looked at. A form's own address is no page: then the one it was sent from."""
    if request.method in ("GET", "HEAD") and request.headers.get("HX-Request") != "true":
        return request.get_full_path()
    origin = urlsplit(request.headers.get("HX-Current-URL") or request.headers.get("Referer") or "")
    if origin.netloc != request.get_host():
        return "/"
    return origin.path + (f"?{origin.query}" if origin.query else "")


def onward(request: HttpRequest, wanted: str) -> str:
    """The page asked for, if it is one of ours; a link in a mail must not lead out of the house."""
    ours = wanted.startswith("/") and url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else "/"


def not_your_form(request: HttpRequest, owner: int) -> HttpResponse:
    """409 in words; what was typed waits for its owner."""
    back = came_from(request)
    typed.keep_sent(request, page=back, at=clock.now(), person=owner)
    name = get_user_model()._default_manager.filter(pk=owner).first()
    sentence = (
        f"{name} began this form, and {request.user} is at the bench now. Nothing was saved; "
        f"what was typed waits for {name}. Open the page afresh to do it in your own name."
    )
    if request.headers.get("HX-Request") == "true":
        messages.error(request, sentence)
        return HttpResponse(status=409, headers={"HX-Redirect": back})
    context = {"sentence": sentence, "back": back}
    return render(request, "workshop/refused.html", context, status=409)


@login_not_required
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    back = came_from(request)
    if typed.was_sent(request.POST.get("once_key", "")):
        return render(request, "workshop/refused.html", {"sentence": SENT, "back": back}, status=403)
    owner = typed.keep_sent(request, page=back, at=clock.now())
    if owner is None:
        return render(request, "workshop/refused.html", {"sentence": FORM_TOO_OLD}, status=403)
    if request.user.is_authenticated and owner != request.user.pk:
        return not_your_form(request, owner)
    context = {"sentence": KEPT_FOR_YOU, "back": back}
    return render(request, "workshop/refused.html", context, status=403)

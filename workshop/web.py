"""What every view needs: the right to be there, a page or its part, one act per form."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.db.models import Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_vary_headers

from workshop import arrivals, capture, clock, drafts, once, typed
from workshop.calc.errors import OutOfRange
from workshop.errors import Offer, Refused
from workshop.forms import ActForm, WayOut, fresh_key
from workshop.models import Heartbeat, Workshop
from workshop.strays import came_from, not_your_form, onward

__all__ = [
    "ActForm",
    "Done",
    "act",
    "came_from",
    "door",
    "fresh_key",
    "not_allowed",
    "onward",
    "open_door",
    "page_or_part",
    "refused_page",
    "wrong_method",
    "SetupFirstMiddleware",
]
View = Callable[..., HttpResponse]


def door(right: str, *methods: str, board: bool = False) -> Callable[[View], View]:
    """Lets in who has `right`, by `methods` (GET and POST by default); says in words why not.

    `board`: on an enrolled tablet it may be read while nobody is signed in (workshop/people/bench.py).
    """
    allowed = methods or ("GET", "POST")

    def wrap(view: View) -> View:
        @wraps(view)
        def inside(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not _method_fits(request, allowed):
                return wrong_method(request, allowed)
            if not request.user.may(right):  # type: ignore[union-attr]
                return not_allowed(request, right)
            return view(request, *args, **kwargs)

        inside.right, inside.methods = right, tuple(allowed)  # type: ignore[attr-defined]
        inside.board = board  # type: ignore[attr-defined]
        return inside

    return wrap


def not_allowed(request: HttpRequest, right: str) -> HttpResponse:
    """403 in words; at the bench, where a password would open it, the page that asks for one."""
    person: Any = request.user
    if not person.may_by_password(right):
        return refused_page(request, person.refusal(right), status=403)
    back = came_from(request)
    typed.keep_sent(request, page=back, at=clock.now(), person=person.pk)
    if request.headers.get("HX-Request") == "true":
        url = f"{reverse('people:again')}?{urlencode({'next': back})}"
        return HttpResponse(status=403, headers={"HX-Redirect": url})
    return render(request, "people/again.html", {"next": back, "sent": request.method == "POST"}, status=403)


def open_door(*methods: str) -> Callable[[View], View]:
    """A page for everybody, signed in or not: the setup, the sign-in. Mind what it shows."""
    allowed = methods or ("GET", "POST")

    def wrap(view: View) -> View:
        @wraps(view)
        def inside(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not _method_fits(request, allowed):
                return wrong_method(request, allowed)
            return view(request, *args, **kwargs)

        inside.right, inside.methods = "", tuple(allowed)  # type: ignore[attr-defined]
        return login_not_required(inside)

    return wrap


def _method_fits(request: HttpRequest, allowed: tuple[str, ...]) -> bool:
    return request.method in allowed or (request.method == "HEAD" and "GET" in allowed)


def wrong_method(request: HttpRequest, allowed: tuple[str, ...]) -> HttpResponse:
    """405 in words, with the Allow header that RFC 9110 section 15.5.6 asks for."""
    sentence = "This address does not take that kind of request. Go back to the page and use its own button."
    response = refused_page(request, sentence, status=405)
    response["Allow"] = ", ".join(allowed)
    return response


def refused_page(request: HttpRequest, sentence: str, *, status: int = 409) -> HttpResponse:
    return render(request, "workshop/refused.html", {"sentence": sentence}, status=status)


def page_or_part(
    request: HttpRequest, page: str, part: str, context: dict[str, Any], *, status: int | None = None
) -> HttpResponse:
    """The whole page, or only its part when htmx asked for it.

    Without a `status`, 422 when the context's `form` was filled in and refused, else 200.
    """
    form = context.get("form")
    refused = isinstance(form, forms.BaseForm) and form.is_bound and bool(form.errors)
    htmx = getattr(request, "htmx", None)
    whole = not htmx or htmx.boosted or htmx.history_restore_request
    wanted = page if whole else part
    response = render(request, wanted, context, status=status or (422 if refused else 200))
    patch_vary_headers(response, ("HX-Request",))
    return response


@dataclass(frozen=True, slots=True)
class Done:
    """What an act led to: where to go next, what to say there, and the address that undoes it."""

    url: str
    said: str = ""
    undo_url: str = ""


def act(
    request: HttpRequest,
    form: ActForm,
    *,
    name: str,
    do: Callable[[datetime], str | Done],
    said: str = "",
    undo_url: str = "",
) -> HttpResponse | None:
    """Run one action for a valid form, once; answer with a redirect to the URL that `do` returns.

    `do` may return a `Done` instead, when what is said or undone is known only afterwards. Returns None
    when the form is invalid or the action refused; the refusal then stands in the form, with everything
    typed still there. `said` is shown on the next page, with an Undo line when there is an `undo_url`.
    """
    request.act_form = form  # type: ignore[attr-defined]  # a refused one is read by the outbox
    stranger = _begun_by_another(request, form)
    if stranger is not None:
        return stranger
    if not form.is_valid():
        return _answered_before(request, form, name) or _refused(request, form)
    at = clock.now()
    outcome = [Done("", said, undo_url)]

    def run() -> str:
        result = do(at)
        outcome[0] = result if isinstance(result, Done) else Done(result, said, undo_url)
        return outcome[0].url

    try:
        entry = arrivals.capture_of(request, once=form.cleaned_data["once_key"], at=at)
        with capture.held(entry):
            answer = once.perform(
                key=form.cleaned_data["once_key"],
                by=request.user,  # type: ignore[arg-type]
                action=name,
                body=form.body(request),
                at=at,
                do=run,
            )
    except OutOfRange as reason:  # what was typed is a number, but no sum can be made with it
        form.add_error(None, str(reason))
        return _refused(request, form)
    except Refused as refusal:
        field = refusal.field if refusal.field in form.fields else None
        form.add_error(field, refusal.sentence)
        form.way_out = _way_out(request, form, refusal.offer, at)
        return _refused(request, form)
    typed.clear(person=int(request.user.pk or 0), path=request.path, form=type(form).__name__)
    if answer.repeated_from is not None:
        return _already_saved(request, answer)
    if outcome[0].said and not arrivals.replayed(request):
        tags = f"undo={outcome[0].undo_url}" if outcome[0].undo_url else ""
        messages.success(request, outcome[0].said, extra_tags=tags)
    return arrivals.saved(request, url=answer.value) or redirect(answer.value)


def _refused(request: HttpRequest, form: ActForm) -> HttpResponse | None:
    """The form is shown again with its errors; what is kept of it remembers that it was refused."""
    said = next((str(one) for errors in form.errors.values() for one in errors), "")
    name = type(form).__name__
    typed.refuse(person=int(request.user.pk or 0), path=request.path, form=name, sentence=said)
    return None


def _begun_by_another(request: HttpRequest, form: ActForm) -> HttpResponse | None:
    """A form that one person began and another one sends: refused, and kept for whose it is."""
    key = str(form.data.get(form.add_prefix("once_key"), ""))
    owner = typed.owner_of(key)
    if owner in (None, request.user.pk) or arrivals.replayed(request):  # the capture says more itself
        return None
    if typed.was_sent(key):  # it stands in its owner's name, and the act says so
        return None
    return not_your_form(request, owner)


def _already_saved(request: HttpRequest, answer: once.Answer) -> HttpResponse:
    zone = Workshop.objects.get().tz
    assert answer.repeated_from is not None
    if not arrivals.replayed(request):
        messages.info(request, f"Already saved at {answer.repeated_from.astimezone(zone):%H:%M}.")
    return arrivals.saved(request, url=answer.value) or redirect(answer.value)


def _answered_before(request: HttpRequest, form: ActForm, name: str) -> HttpResponse | None:
    """The second tap on a form that the first one made invalid: its jar is taken, its lot used up."""
    key = form.cleaned_data.get("once_key") if form.is_bound else None
    if not key:
        return None
    try:
        answer = once.repeat(key=key, by=request.user, action=name, body=form.body(request))  # type: ignore[arg-type]
    except Refused as refusal:
        form.errors.clear()
        form.add_error(None, refusal.sentence)
        return None
    return None if answer is None else _already_saved(request, answer)


def _way_out(request: HttpRequest, form: ActForm, offer: Offer | None, at: datetime) -> WayOut | None:
    """The offer with its address, which leads back to the form with all that was typed."""
    if offer is None:
        return None
    key, typed = form.cleaned_data["once_key"], form.sent(request)
    back = drafts.keep(request, form=form.draft_name(), key=key, typed=typed, at=at)
    query = urlencode({**offer.query, "back": back})
    return WayOut(offer.words, offer.act, f"{reverse(offer.page, args=offer.args)}?{query}")


class SetupFirstMiddleware:
    """Until the workshop is set up, every page leads to the setup. Keeps its row for the request.

    Times on the page are the workshop's own.
    """

    OPEN = ("/setup/", "/static/", "/health/", "/sw.js", "/manifest.webmanifest", "/away/")

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith(self.OPEN):
            return self.get_response(request)
        request.the_workshop = _workshop()  # type: ignore[attr-defined]
        if request.the_workshop is None:  # type: ignore[attr-defined]
            return redirect("people:setup")
        with timezone.override(request.the_workshop.tz):  # type: ignore[attr-defined]
            return self.get_response(request)


def _workshop() -> Workshop | None:
    """The workshop with `swept_at`, the worker's last sign of life: one question for both."""
    swept = Heartbeat.objects.filter(name="sweep").values("beat_at")[:1]
    return Workshop.objects.annotate(swept_at=Subquery(swept)).first()

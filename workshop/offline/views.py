"""The parts a tablet needs to work without Wi-Fi, and the page of what waits."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse

from workshop import arrivals, clock
from workshop.offline import pages, waiting
from workshop.offline.forms import GiveUpForm
from workshop.offline.models import RefusedEntry
from workshop.people import rights
from workshop.web import act, door, open_door

BROWSER = re.compile(r"[0-9a-f]{32}")
MOST = 10_000


@open_door("GET")
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, at the top of the house so that it may serve all of it."""
    found = finders.find("js/sw.js")
    return HttpResponse(Path(str(found)).read_bytes(), content_type="text/javascript; charset=utf-8")


@open_door("GET")
def manifest(request: HttpRequest) -> HttpResponse:
    """W3C Web Application Manifest."""
    picture = {"src": static("icons/app.svg"), "sizes": "any", "type": "image/svg+xml"}
    drawn = [
        {
            "src": static(f"icons/app-{size}.png"),
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": use,
        }
        for size in (192, 512)
        for use in ("any", "maskable")
    ]
    found = {
        "name": "Colature",
        "short_name": "Colature",
        "id": "/",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#f7f4ec",
        "theme_color": "#fffdf7",
        "icons": [picture, *drawn],
    }
    return JsonResponse(found, content_type="application/manifest+json")


@open_door("GET")
def away(request: HttpRequest) -> HttpResponse:
    """Shown without Wi-Fi in place of a page that this tablet has not seen. Holds nothing of anybody."""
    return render(request, "offline/away.html")


@door(rights.SEE, "GET", "POST")
def outbox(request: HttpRequest) -> HttpResponse:
    """Who stands here and fresh tokens (GET); how many wait here, answered by which are settled (POST)."""
    if request.method == "GET":
        return JsonResponse(pages.told(request))
    at, sent = clock.now(), request.POST
    browser = sent.get("browser", "")
    if BROWSER.fullmatch(browser):
        stands, count, since = arrivals.sender(request), _count(sent), _since(sent, at)
        name = stands.name or f"a browser of {request.user}"
        waiting.tell(browser=browser, name=name, count=count, since=since, at=at, tablet=stands.tablet)
    keys = [key for key in sent.getlist("refused") if "\0" not in key]
    return JsonResponse({"settled": waiting.settled(keys)})


def _count(sent: Mapping[str, Any]) -> int:
    typed = sent.get("count", "")
    return min(int(typed), MOST) if typed.isascii() and typed.isdigit() and len(typed) < 9 else 0


def _since(sent: Mapping[str, Any], at: datetime) -> datetime | None:
    """The oldest entry's time, as the tablet told it; never in time to come."""
    try:
        found = datetime.fromisoformat(sent.get("since", ""))
        return min(found, at) if found.tzinfo and _count(sent) else None
    except ValueError:
        return None


@door(rights.SEE, "GET", "POST")
def waiting_entries(request: HttpRequest) -> HttpResponse:
    """Entries that wait on this tablet (the script fills them in) and those that were refused."""
    form = GiveUpForm(request.POST or None)
    if request.method == "POST":
        done = act(
            request, form, name="offline.give_up", said="Given up.", do=lambda at: _give_up(request, form, at)
        )
        if done is not None:
            return done
    at = clock.now()
    context = {
        "rows": [(row, _own_form(row, form)) for row in waiting.unsettled(request.user)],  # type: ignore[arg-type]
        "overdue_rows": waiting.overdue(at),
        "form": form,
    }
    return render(request, "offline/waiting.html", context, status=409 if form.errors else 200)


def _own_form(row: RefusedEntry, sent: GiveUpForm) -> GiveUpForm:
    """The form of one entry: as it was sent, when it was this one's."""
    form = sent if sent.data.get("key") == row.pk else GiveUpForm()
    form.auto_id = f"{row.pk}-%s"
    return form


def _give_up(request: HttpRequest, form: GiveUpForm, at: datetime) -> str:
    """What was never sent is written down first: nothing that was entered disappears."""
    answer, by = form.cleaned_data, request.user
    if answer["path"]:
        arrival = waiting.Arrival(
            answer["key"], answer["path"], answer["label"], form.pairs(), arrivals.sender(request).name
        )
        waiting.keep(arrival=arrival, by=by, at=at)  # type: ignore[arg-type]
    outcome = RefusedEntry.Outcome.GIVEN_UP
    waiting.settle(key=answer["key"], outcome=outcome, by=by, at=at, why=answer["why"])  # type: ignore[arg-type]
    return reverse("offline:waiting")

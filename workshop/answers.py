"""The last word on every answer: the pages for what went wrong, and the headers that all of them carry."""

from __future__ import annotations

import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token

SENTENCES = {
    400: "That request could not be read. Go back to the page before and try again.",
    403: "Your account may not see this. The owner can change that.",
    404: "Nothing stands at this address. It may have been typed wrong, or it was never here.",
    500: "Something went wrong on our side, and nothing of this step was saved. Go back and try once more; "
    "if it happens again, tell whoever looks after this computer the time it happened.",
}
BARE = '<!doctype html><html lang="en-GB"><title>Colature</title><p>{}</p></html>'


NOTED = {400, 401, 403, 422, 429}
log = logging.getLogger("colature.refused")


def note(request: HttpRequest, status: int) -> None:
    """Who was refused what, by number and address name: nothing that anybody typed gets into the log."""
    route = request.resolver_match.view_name if request.resolver_match else "-"
    person = request.session.get("_auth_user_id", "-") if hasattr(request, "session") else "-"
    log.warning(
        "%s %s %s person=%s from=%s", status, request.method, route, person, request.META["REMOTE_ADDR"]
    )


class HeadersMiddleware:
    """What Django's own middleware leaves out, or cannot add when it failed itself. Outermost for that.

    Nothing but the static files may be kept by a browser or a proxy: a shared tablet shows the next person
    nothing of the last one's.
    """

    ALWAYS = {
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cross-Origin-Embedder-Policy": "require-corp",
        "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
        "X-Permitted-Cross-Domain-Policies": "none",
    }

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code in NOTED:
            note(request, response.status_code)
        for name, value in self.ALWAYS.items():
            response.headers.setdefault(name, value)
        if not request.path.startswith("/static/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response


def _wrong(request: HttpRequest, status: int, sentence: str = "") -> HttpResponse:
    return render(
        request, "workshop/refused.html", {"sentence": sentence or SENTENCES[status]}, status=status
    )


@requires_csrf_token
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400 comes from before the middleware too (a wrong host): no person, no workshop, a page of its own."""
    return HttpResponse(render_to_string("workshop/alone.html", {"sentence": SENTENCES[400]}), status=400)


@requires_csrf_token
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _wrong(request, 403)


@requires_csrf_token
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _wrong(request, 404)


@requires_csrf_token
def server_error(request: HttpRequest) -> HttpResponse:
    """Asks nothing of the database: it may be what failed. Shows nothing of the fault."""
    try:
        page = str(render_to_string("workshop/alone.html", {"sentence": SENTENCES[500]}))
    except Exception:  # even the template may be what failed
        page = BARE.format(SENTENCES[500])
    return HttpResponse(page, status=500)

"""What every answer's head must hold. Expectations: OWASP Secure Headers Project; ASVS 5.0.0 3.3-3.5, 14.3.2;
MDN HTTP Observatory's scoring (CSP with default-src 'none', COOP, COEP, CORP, frame-ancestors, referrer)."""

from __future__ import annotations

from http.cookies import SimpleCookie
from typing import Any

CSP = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self'",
    "font-src": "'self'",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
}
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


def assert_headers(response: Any, said: str) -> None:
    policy = dict(part.strip().split(" ", 1) for part in response["Content-Security-Policy"].split(";"))
    assert policy == CSP, said
    for name, value in HEADERS.items():
        assert response.headers.get(name) == value, f"{said}: {name}"
    assert "no-store" in response["Cache-Control"], said
    assert "geolocation=()" in response["Permissions-Policy"], said
    for cookie in SimpleCookie(response.cookies.output(header="", sep=";")).values():
        assert not cookie.value or cookie["httponly"], said  # an empty one is being dropped
        assert cookie["samesite"] == "Lax" and cookie["path"] == "/", said

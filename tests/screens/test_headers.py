"""The headers of answers (those of every address: test_access.py), and what the profiles say of cookies."""

from __future__ import annotations

import gzip
import json
import os
import subprocess
import sys
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from tests import builders
from tests.screens.headers import assert_headers
from workshop.people.models import Person


@pytest.fixture
def owner(db: None) -> Person:
    builders.a_workshop()
    return builders.an_owner()


def test_the_pages_for_what_went_wrong_carry_them_too(owner: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any, **__: Any) -> HttpResponse:
        raise RuntimeError("a secret detail")

    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    client.force_login(owner)
    missing = client.get("/nowhere/")
    forged = client.post(reverse("people:preferences"))
    wrong_host = client.get("/sign-in/", headers={"Host": "elsewhere.example"})
    monkeypatch.setattr("workshop.people.views.own.render", broken)
    failed = client.get(reverse("people:preferences"))
    seen = [missing.status_code, forged.status_code, wrong_host.status_code, failed.status_code]
    assert seen == [404, 403, 400, 500]
    for response in (missing, forged, wrong_host, failed):
        assert_headers(response, str(response.status_code))
        assert "a secret detail" not in response.content.decode()
        assert "Traceback" not in response.content.decode()
    assert "Nothing stands at this address" in missing.content.decode()
    assert "This form was open for too long" in forged.content.decode()
    assert "nothing of this step was saved" in failed.content.decode()


def test_a_500_needs_no_database(owner: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    """What failed may be the database itself."""
    client = Client(raise_request_exception=False)
    monkeypatch.setattr("workshop.web._workshop", lambda: 1 / 0)
    failed = client.get("/sign-in/")
    assert failed.status_code == 500
    assert_headers(failed, "500 in the middleware")


def test_static_files_may_be_kept(owner: Person, settings: Any) -> None:
    settings.WHITENOISE_USE_FINDERS = True
    response = Client().get("/static/css/base.css")
    assert response.status_code == 200
    assert "no-store" not in response.get("Cache-Control", "")
    assert response["Cross-Origin-Resource-Policy"] == "same-origin"
    assert response["X-Content-Type-Options"] == "nosniff"


PROFILE = """
import gzip
import json
from django.conf import settings as s
parts = ["NAME", "SECURE", "HTTPONLY", "SAMESITE", "PATH", "DOMAIN"]
names = [f"{kind}_COOKIE_{part}" for kind in ("SESSION", "CSRF") for part in parts]
names += ["SECURE_SSL_REDIRECT", "SECURE_HSTS_SECONDS", "PASSWORD_HASHERS"]
names += ["SESSION_COOKIE_AGE", "SESSION_IDLE_SECONDS"]
print(json.dumps({n: getattr(s, n) for n in names}))
"""


def profile(**environment: str) -> dict[str, Any]:
    """The settings as a fresh process reads them."""
    env = os.environ | {"DJANGO_SETTINGS_MODULE": "workshop.settings"} | environment
    done = subprocess.run(
        [sys.executable, "-c", PROFILE], env=env, capture_output=True, text=True, check=True
    )
    return dict(json.loads(done.stdout))


def test_the_tls_profile_has_host_cookies(owner: Person, settings: Any) -> None:
    """`__Host-` wants Secure, path / and no domain: RFC 6265bis section 4.1.3.2."""
    kept = profile(TLS="1")
    assert kept["SESSION_COOKIE_NAME"].startswith("__Host-") and kept["CSRF_COOKIE_NAME"].startswith(
        "__Host-"
    )
    assert kept["SECURE_SSL_REDIRECT"] and kept["SECURE_HSTS_SECONDS"] >= 31_536_000
    for name, value in kept.items():
        if "COOKIE" in name or name.startswith("SECURE"):
            setattr(settings, name, value)
    client = Client()
    response = client.post(
        "/sign-in/", {"login": owner.login, "password": builders.PASSWORD}, secure=True, follow=False
    )
    assert response.status_code == 302
    assert set(response.cookies) == {kept["SESSION_COOKIE_NAME"], kept["CSRF_COOKIE_NAME"]}
    for cookie in response.cookies.values():
        assert cookie["secure"] and cookie["httponly"] and cookie["path"] == "/" and not cookie["domain"]
        assert cookie["samesite"] in ("Lax", "Strict")


def test_the_loopback_profile_keeps_two_workshops_on_one_machine_apart() -> None:
    """Cookies do not know ports: RFC 6265 section 8.5."""
    one, other = profile(TLS="0", PORT="8001"), profile(TLS="0", PORT="8002")
    assert one["SESSION_COOKIE_NAME"] != other["SESSION_COOKIE_NAME"]
    assert not one["SESSION_COOKIE_SECURE"] and one["SESSION_COOKIE_HTTPONLY"] and one["CSRF_COOKIE_HTTPONLY"]


def test_forwarded_headers_of_strangers_are_ignored(owner: Person) -> None:
    """ASVS 5.0.0 4.1.3: without a trusted proxy nobody can claim to come by TLS or from elsewhere."""
    headers = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "elsewhere.example"}
    response = Client().get("/preferences/", headers=headers)
    assert response["Location"] == "/sign-in/?next=%2Fpreferences%2F"


def test_every_refusal_is_noted_without_what_was_typed(
    owner: Person, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 5.0.0 16.3.1, 16.3.2, 16.4.1: who, what, when; no secrets, no line of the sender's making."""
    client = Client()
    typed = {"login": "rowan\r\nforged line", "password": "a secret word or two"}
    client.post("/sign-in/", typed)
    client.force_login(builders.a_maker())
    client.get("/staff/")
    noted = [record.getMessage() for record in caplog.records if record.name == "colature.refused"]
    maker = Person.objects.get(login="linnet").pk
    assert noted == [
        "422 POST people:sign-in person=- from=127.0.0.1",
        f"403 GET people:staff person={maker} from=127.0.0.1",
    ]
    assert "secret" not in caplog.text and "forged" not in caplog.text


@pytest.mark.django_db
def test_a_page_goes_out_compressed_to_whoever_takes_it(client: Client) -> None:
    """RFC 9110, 12.5.3: only with an Accept-Encoding that names it."""
    builders.a_workshop()
    client.force_login(builders.an_owner())
    plain = client.get("/")
    small = client.get("/", headers={"accept-encoding": "gzip"})
    assert "Content-Encoding" not in plain.headers and small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.content)[:15] == plain.content[:15] == b"<!doctype html>"

"""Enrolled tablets and the bench session: OWASP ASVS 5.0.0 6.3.4 (the weaker way in cannot reach what the
stronger one guards), 7.2.3 and 7.2.4 (random session tokens, renewed at sign-in), 7.4.1 (ended at once)."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from html import escape
from typing import Any

import pytest
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import reverse

from inventory.models.postings import Posting
from inventory.queries.dispatch import posting_of
from tests import builders
from tests.builders_stock import a_lot
from tests.builders_trace import a_dispatch, a_double_extraction
from tests.screens.access import ROWS
from tests.screens.places import Place, places
from workshop.errors import Refused
from workshop.people import bench, guard, rights, tablets, throttle
from workshop.people.models import Person, Tablet

NOON = builders.NOON
COOKIE = settings.TABLET_COOKIE_NAME
pytestmark = pytest.mark.django_db
BEYOND = [row for row in ROWS if row.right in (rights.PLAN, rights.SELL, rights.DECIDE, rights.OWN)]


@pytest.fixture(autouse=True)
def shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    builders.a_workshop()


@pytest.fixture
def owner() -> Person:
    return builders.an_owner()


def signed_in(person: Person, client: Client | None = None) -> Client:
    client = client or Client()
    client.post("/sign-in/", {"login": person.login, "password": builders.PASSWORD})
    return client


def send(client: Client, address: str, *args: Any, **fields: str) -> HttpResponse:
    body = {"once_key": f"{address}{sorted(fields.items())}"[:90], **fields}
    return client.post(reverse(address, args=args), body)


def at_bench(client: Client, person: Person) -> Client:
    """A bench session as a tile begins it, on a browser that is an enrolled tablet already."""
    request = HttpRequest()
    request.session = client.session
    request.tablet = tablets.of_token(client.cookies[COOKIE].value)  # type: ignore[attr-defined]
    bench.come_in(request, Person.objects.get(pk=person.pk))
    guard.begin(request, NOON.timestamp())
    request.session.save()
    client.cookies[settings.SESSION_COOKIE_NAME] = request.session.session_key
    return client


def test_a_code_enrols_one_tablet_once(owner: Person) -> None:
    page = send(signed_in(owner), "people:tablets", name="Stove").content.decode()
    code = re.search(r'class="deciding">([0-9A-Z]{4}-[0-9A-Z]{4})<', page)
    assert code and "Stove" in page and "<svg" in page
    assert not Tablet.objects.filter(code_digest__icontains=code[1]).exists()
    device = Client()
    answer = device.post("/tablet/", {"code": code[1].lower().replace("-", " ")})
    assert answer.status_code == 302
    cookie = answer.cookies[COOKIE]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and cookie["max-age"] == 400 * 86400
    assert len(cookie.value) >= 43, "256 bits in base 64 (RFC 4648)"
    kept = Tablet.objects.get()
    assert cookie.value not in (kept.digest, kept.code_digest) and kept.enrolled_by == owner
    assert "Stove already" in device.get("/tablet/").content.decode()
    again = Client().post("/tablet/", {"code": code[1]})
    assert again.status_code == 422 and COOKIE not in again.cookies


def test_a_code_is_good_for_ten_minutes(owner: Person) -> None:
    fresh = tablets.make_code(name="Stove", by=owner, at=NOON)
    with pytest.raises(Refused, match="ten minutes"):
        tablets.enrol(code=fresh.secret, at=NOON + timedelta(minutes=10, seconds=1))
    assert tablets.enrol(code=fresh.secret, at=NOON + timedelta(minutes=9)).tablet.name == "Stove"


def test_codes_cannot_be_guessed_quickly(owner: Person) -> None:
    for _ in range(throttle.CODE.free):
        assert Client().post("/tablet/", {"code": "0000-0000"}).status_code == 422
    fresh = tablets.make_code(name="Stove", by=owner, at=NOON)
    shut = Client().post("/tablet/", {"code": fresh.secret})
    assert shut.status_code == 429 and "Wait" in shut.content.decode()
    assert Tablet.objects.get().enrolled_at is None


def test_a_tablet_that_was_never_enrolled_is_known_by_no_cookie(owner: Person) -> None:
    tablets.make_code(name="Stove", by=owner, at=NOON)
    assert tablets.of_token("") is None and tablets.of_token("None") is None


def test_two_tablets_do_not_share_a_name(owner: Person) -> None:
    builders.a_tablet("Stove")
    refused = send(signed_in(owner), "people:tablets", name="stove")
    assert refused.status_code == 422 and "called stove already" in refused.content.decode()


def test_the_one_in_the_owners_hand(owner: Person) -> None:
    client = signed_in(owner)
    answer = send(client, "people:tablet-here", name="Press")
    assert answer.cookies[COOKIE]["httponly"]
    page = client.get("/staff/tablets/").content.decode()
    assert "in your hand" in page and "It is the one in my hand" not in page
    assert client.session["tablet"] == Tablet.objects.get().pk


def test_enrolled_anew_it_is_known_by_the_new_name_at_once(owner: Person) -> None:
    """The old cookie is due to be renewed in the same answer; the new one goes out."""
    client = signed_in(owner, builders.on_tablet(builders.a_tablet("Stove")))
    Tablet.objects.update(seen_at=None)
    answer = send(client, "people:tablet-here", name="Press")
    found = tablets.of_token(answer.cookies[COOKIE].value)
    assert found is not None and found.name == "Press"


def test_revoking_signs_everybody_out_of_it(owner: Person) -> None:
    fresh = builders.a_tablet()
    shared = signed_in(builders.a_maker(), builders.on_tablet(fresh))
    assert shared.get("/preferences/").status_code == 200
    assert send(signed_in(owner), "people:tablet-revoke", fresh.tablet.pk).status_code == 302
    assert shared.get("/preferences/")["Location"].startswith("/sign-in/")
    assert tablets.of_token(fresh.secret) is None
    assert "revoked" in signed_in(owner).get("/staff/tablets/").content.decode()


def test_a_session_does_not_leave_its_tablet() -> None:
    shared = signed_in(builders.a_maker(), builders.on_tablet(builders.a_tablet()))
    elsewhere = Client()
    elsewhere.cookies[settings.SESSION_COOKIE_NAME] = shared.cookies[settings.SESSION_COOKIE_NAME].value
    assert elsewhere.get("/preferences/")["Location"].startswith("/sign-in/")


def test_the_cookie_is_renewed_while_it_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    fresh = builders.a_tablet()
    client = builders.on_tablet(fresh)
    assert COOKIE not in client.get("/sign-in/").cookies
    later = NOON + timedelta(days=3)
    monkeypatch.setattr("workshop.clock.now", lambda: later)
    assert client.get("/sign-in/").cookies[COOKIE].value == fresh.secret
    assert Tablet.objects.get().seen_at == later


def test_a_makers_hand_makes_no_tablet() -> None:
    with pytest.raises(Refused, match="Only the owner"):
        tablets.make_code(name="Mine", by=builders.a_maker(), at=NOON)


@pytest.mark.parametrize("place", places(BEYOND), ids=lambda place: place.name)
def test_the_bench_alone_reaches_nothing_beyond_it(place: Place, owner: Person) -> None:
    """Every address that wants more than the bench, by each method: the password page, not the act."""
    found = place.addresses()
    client = at_bench(builders.on_tablet(builders.a_tablet("Bench at the window")), owner)
    for row, url in found:
        for method in row.methods:
            answer = client.generic(method, url, headers={"Referer": f"http://testserver{url}?x=1"})
            page = answer.content.decode()
            assert answer.status_code == 403, f"{method} {row.name}"
            assert 'name="present"' in page and "wants your password" in page
            assert f'name="next" value="{url}' in page
            part = client.generic(method, url, headers={"HX-Request": "true"})
            assert part.status_code == 403 and part["HX-Redirect"].startswith("/bench/password/?next=")


def test_a_tapped_name_takes_no_sale_back() -> None:
    """Sold by whoever gave a password, undone with no less; so is a receipt of which something was sold."""
    flow = a_double_extraction()
    sent = posting_of(a_dispatch(flow))
    assert sent is not None
    a_lot()
    of_sold, alone = Posting.objects.filter(kind="received").order_by("seq")[0], Posting.objects.latest("seq")
    client = at_bench(builders.on_tablet(builders.a_tablet()), flow.maker)
    for method, one in (("GET", sent), ("POST", sent), ("POST", of_sold)):
        answer = client.generic(method, reverse("inventory:undo", args=[one.pk]))
        assert answer.status_code == 403 and "wants your password" in answer.content.decode()
    assert client.get(reverse("inventory:undo", args=[alone.pk])).status_code == 200


def test_the_password_opens_the_rest_for_five_minutes(owner: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    client = at_bench(builders.on_tablet(builders.a_tablet()), owner)
    assert "Give my password" in client.get("/preferences/").content.decode()
    wrong = client.post("/bench/password/", {"present": "not mine at all", "next": "/staff/"})
    assert wrong.status_code == 422 and client.get("/staff/").status_code == 403
    before = client.cookies[settings.SESSION_COOKIE_NAME].value
    right = client.post("/bench/password/", {"present": builders.PASSWORD, "next": "/staff/"})
    assert right["Location"] == "/staff/"
    assert client.cookies[settings.SESSION_COOKIE_NAME].value != before
    assert client.get("/staff/").status_code == 200
    monkeypatch.setattr("workshop.clock.now", lambda: NOON + timedelta(minutes=4, seconds=59))
    assert client.get("/staff/").status_code == 200
    monkeypatch.setattr("workshop.clock.now", lambda: NOON + timedelta(minutes=5, seconds=1))
    assert client.get("/staff/").status_code == 403


def test_the_password_page_leads_nowhere_else(owner: Person) -> None:
    client = at_bench(builders.on_tablet(builders.a_tablet()), owner)
    for away in ("https://elsewhere.example/", "//elsewhere.example", "elsewhere"):
        answer = client.post("/bench/password/", {"present": builders.PASSWORD, "next": away})
        assert answer["Location"] == "/"


def test_a_makers_password_opens_no_owners_page() -> None:
    client = at_bench(builders.on_tablet(builders.a_tablet()), builders.a_maker())
    answer = client.get("/staff/")
    assert answer.status_code == 403 and escape(rights.refusal(rights.OWN)) in answer.content.decode()


def test_an_act_with_a_reason_asks_for_the_password_too(owner: Person) -> None:
    """Where an owner's word within a form lifts a floor, the bench is told what is missing."""
    owner.narrowed = rights.AT_THE_BENCH
    assert not owner.may(rights.DECIDE) and owner.may(rights.BENCH)
    assert owner.refusal(rights.DECIDE) == rights.BY_PASSWORD
    assert Person.objects.get(pk=owner.pk).may(rights.DECIDE), "nothing of it is kept"


def lives(client: Client, moment: datetime, monkeypatch: pytest.MonkeyPatch) -> bool:
    monkeypatch.setattr("workshop.clock.now", lambda: moment)
    return client.get("/preferences/").status_code == 200


def test_five_quiet_minutes_on_a_tablet(monkeypatch: pytest.MonkeyPatch) -> None:
    """OWASP Session Management Cheat Sheet: 2 to 5 minutes where much is at stake."""
    shared = signed_in(builders.a_maker(), builders.on_tablet(builders.a_tablet()))
    assert lives(shared, NOON + timedelta(minutes=4, seconds=50), monkeypatch)
    assert lives(shared, NOON + timedelta(minutes=9, seconds=40), monkeypatch)
    assert not lives(shared, NOON + timedelta(minutes=14, seconds=41), monkeypatch)


def test_twelve_hours_are_the_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """NIST SP 800-63B-4, AAL2: a session ends after twelve hours whatever happens in it."""
    shared = signed_in(builders.a_maker(), builders.on_tablet(builders.a_tablet()))
    for minutes in range(4, 12 * 60, 4):
        assert lives(shared, NOON + timedelta(minutes=minutes), monkeypatch), minutes
    assert not lives(shared, NOON + timedelta(hours=12, minutes=1), monkeypatch)

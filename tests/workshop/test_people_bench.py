"""Who is at the bench: names, PINs and badges on an enrolled tablet. NIST SP 800-63B-4 (rate limiting of
memorised secrets), OWASP Password Storage Cheat Sheet (Argon2id m=19456, t=2, p=1), WCAG 2.2 3.3.8."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests import builders
from tests.builders import NOON, PASSWORD
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import badges, pins, tablets, throttle
from workshop.people.models import Badge, Person, Pin, Tablet

GOOD = "730259"
OTHERS = [f"{n:06}" for n in range(264018, 999999, 9973)]


@pytest.fixture(autouse=True)
def shop(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    if any(mark.name == "django_db" for mark in request.node.iter_markers()):
        request.getfixturevalue("transactional_db" if "race" in request.node.name else "db")
        builders.a_workshop(bench_by="pin")


@pytest.fixture
def tablet(shop: None) -> tablets.Fresh:
    return builders.a_tablet()


@pytest.fixture
def linnet(shop: None) -> Person:
    person = builders.a_maker()
    pins.set_pin(person=person, pin=GOOD, by=person, at=NOON)
    return person


def guess(client: Client, person: Person, pin: str, next: str = "/rounds/") -> Any:
    return client.post(reverse("people:bench-pin", args=[person.pk]), {"pin": pin, "next": next})


def is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


@pytest.mark.parametrize(
    "pin",
    ["000000", "111111", "121212", "123123", "123321", "123456", "654321", "890123", "135791", "456789"]
    + ["123789", "112211", "198423", "731984", "202611", "310785", "123185", "850731", "290200"],
)
def test_easy_pins_are_refused_in_words(pin: str) -> None:
    with pytest.raises(Refused, match=r"PIN: it .* Take six digits that follow no pattern"):
        pins.refuse_bad(pin)


@pytest.mark.parametrize("pin", ["", "12345", "1234567", "73025a", "73025٣", "730 59"])  # noqa: RUF001
def test_what_is_no_pin(pin: str) -> None:
    with pytest.raises(Refused, match="six digits"):
        pins.refuse_bad(pin)


def test_how_many_pins_are_left() -> None:
    """At least 200 refused; and ten guesses at one of the rest succeed about once in 80,000."""
    easy = sum(1 for number in range(1_000_000) if pins.easy(f"{number:06}"))
    assert easy >= 200
    assert 10 / (1_000_000 - easy) < 1.3e-5


@pytest.mark.django_db
def test_a_pin_is_kept_as_argon2id_with_a_pepper(linnet: Person, settings: Any) -> None:
    kept = Pin.objects.get().encoded
    assert kept.startswith("argon2$argon2id$v=19$m=19456,t=2,p=1$") and GOOD not in kept
    assert len(settings.PIN_PEPPER) >= 43, "256 bits and more in base 64"
    fresh = builders.a_tablet().tablet
    pins.check(person=linnet, tablet=fresh, pin=GOOD, at=NOON)
    settings.PIN_PEPPER = "another"
    with pytest.raises(Refused, match="not the PIN"):
        pins.check(person=linnet, tablet=fresh, pin=GOOD, at=NOON)


@pytest.mark.django_db
def test_two_people_with_one_pin_have_two_hashes(linnet: Person) -> None:
    other = builders.a_maker("wren")
    pins.set_pin(person=other, pin=GOOD, by=other, at=NOON)
    assert len({pin.encoded for pin in Pin.objects.all()}) == 2
    with pytest.raises(Refused, match="whose it is"):
        pins.set_pin(person=other, pin=GOOD, by=linnet, at=NOON)


@pytest.mark.django_db
def test_a_pin_opens_the_bench_and_leads_back(tablet: tablets.Fresh, linnet: Person) -> None:
    client = builders.on_tablet(tablet)
    page = client.get("/bench/?next=/rounds/").content.decode()
    assert "Linnet Marsh" in page and 'value="/rounds/"' in page
    to_pin = client.post(reverse("people:bench-tap", args=[linnet.pk]), {"next": "/rounds/"})
    assert to_pin["Location"] == f"/bench/{linnet.pk}/pin/?next=%2Frounds%2F"
    assert not is_in(client)
    assert 'value="/rounds/"' in client.get(to_pin["Location"]).content.decode()
    before = client.cookies.get(settings.SESSION_COOKIE_NAME)
    assert guess(client, linnet, GOOD)["Location"] == "/rounds/"
    assert is_in(client) and client.session["bench"] is True
    assert before is None or client.cookies[settings.SESSION_COOKIE_NAME].value != before.value
    assert client.get("/staff/").status_code == 403


@pytest.mark.django_db
def test_who_has_no_pin_is_told_what_to_do_and_gets_no_pad(tablet: tablets.Fresh) -> None:
    client, newcomer = builders.on_tablet(tablet), builders.a_maker("wren")
    page = client.get(reverse("people:bench-pin", args=[newcomer.pk])).content.decode()
    assert "has no PIN yet" in page and "Sign in with the password" in page
    assert "data-pad" not in page and 'name="pin"' not in page


@pytest.mark.django_db
def test_the_session_key_changes_with_every_person(tablet: tablets.Fresh, linnet: Person) -> None:
    """OWASP ASVS 5.0.0, 7.2.4."""
    client, keys = builders.on_tablet(tablet), set()
    builders.a_workshop(bench_by="tap")
    for person in (linnet, builders.an_owner(), linnet, linnet):
        client.post(reverse("people:bench-tap", args=[person.pk]), {"next": "/"})
        assert client.session["_auth_user_id"] == str(person.pk)
        keys.add(client.cookies[settings.SESSION_COOKIE_NAME].value)
    assert len(keys) == 4


@pytest.mark.django_db
def test_nothing_is_compared_without_a_tablet(
    linnet: Person, tablet: tablets.Fresh, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pins, "check", lambda **_: pytest.fail("compared"))
    monkeypatch.setattr(badges, "whose", lambda **_: pytest.fail("compared"))
    tablets.revoke(tablet=tablet.tablet, by=builders.an_owner(), at=NOON)
    for client in (Client(), builders.on_tablet(tablet)):
        for answer in (
            guess(client, linnet, GOOD),
            client.post("/bench/badge/", {"code": "CLB1:X"}),
            client.post(reverse("people:bench-tap", args=[linnet.pk])),
            client.get("/bench/"),
        ):
            assert answer.status_code == 302 and answer["Location"].startswith("/sign-in/")
        assert not is_in(client)
    assert Pin.objects.get().misses == 0


@pytest.mark.django_db
def test_a_tap_is_enough_where_the_owner_says_so(tablet: tablets.Fresh, linnet: Person) -> None:
    owner = Client()
    owner.post("/sign-in/", {"login": builders.an_owner().login, "password": PASSWORD})
    assert (
        owner.post("/staff/tablets/bench/", {"bench_by": "tap", "once_key": "tap"})["Location"]
        == "/staff/tablets/"
    )
    assert Workshop.objects.get().bench_by == "tap"
    client = builders.on_tablet(tablet)
    assert client.post(reverse("people:bench-tap", args=[linnet.pk]), {"next": "/"})["Location"] == "/"
    assert is_in(client) and client.session["bench"] is True


@pytest.mark.django_db
def test_waits_from_the_fifth_miss_and_a_stop_at_the_tenth(tablet: tablets.Fresh, linnet: Person) -> None:
    at, hashed = NOON, 0
    for miss in range(1, 11):
        with pytest.raises(Refused) as refused:
            pins.check(person=linnet, tablet=tablet.tablet, pin=OTHERS[miss], at=at)
        assert not isinstance(refused.value, throttle.TooMany), miss
        hashed += 1
        if 5 <= miss < 10:
            wait = timedelta(seconds=30 * 2 ** (miss - 5))
            with pytest.raises(throttle.TooMany, match="Wait"):
                pins.check(person=linnet, tablet=tablet.tablet, pin=GOOD, at=at + wait - timedelta(seconds=1))
            at += wait
        at += timedelta(seconds=1)
    assert hashed == 10
    for later in (timedelta(0), timedelta(days=400)):
        with pytest.raises(throttle.TooMany, match="until the password is given"):
            pins.check(person=linnet, tablet=tablet.tablet, pin=GOOD, at=at + later)
    other = builders.a_tablet("Stove")
    with pytest.raises(throttle.TooMany, match="until the password"):
        pins.check(person=linnet, tablet=other.tablet, pin=GOOD, at=at)


@pytest.mark.django_db
def test_the_password_wakes_a_pin_that_rests(tablet: tablets.Fresh, linnet: Person) -> None:
    Pin.objects.update(misses=10)
    client = builders.on_tablet(tablet)
    refused = guess(client, linnet, GOOD)
    assert refused.status_code == 429 and "until the password is given" in refused.content.decode()
    client.post("/sign-in/", {"login": "linnet", "password": PASSWORD})
    assert guess(client, linnet, GOOD).status_code == 302


@pytest.mark.django_db
def test_a_right_pin_forgets_the_misses(tablet: tablets.Fresh, linnet: Person) -> None:
    client = builders.on_tablet(tablet)
    for pin in OTHERS[:4]:
        assert guess(client, linnet, pin).status_code == 422
    assert guess(client, linnet, GOOD).status_code == 302
    assert Pin.objects.get().misses == 0


@pytest.mark.django_db
def test_one_tablet_cannot_guess_at_everybody(tablet: tablets.Fresh) -> None:
    people = [builders.a_maker(f"maker{n}") for n in range(pins.ON_A_TABLET.free // 4 + 1)]
    for person in people:
        pins.set_pin(person=person, pin=GOOD, by=person, at=NOON)
    shut = 0
    for person in people:
        for pin in OTHERS[:4]:
            try:
                pins.check(person=person, tablet=tablet.tablet, pin=pin, at=NOON)
            except throttle.TooMany:
                shut += 1
            except Refused:
                pass
    assert shut >= 3
    elsewhere = builders.a_tablet("Stove").tablet
    pins.check(person=people[-1], tablet=elsewhere, pin=GOOD, at=NOON)


@pytest.mark.django_db(transaction=True)
def test_race_of_forty_guesses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty wrong guesses at once: five are compared, and the count stands at five."""
    linnet, fresh = builders.a_maker(), builders.a_tablet()
    pins.set_pin(person=linnet, pin=GOOD, by=linnet, at=NOON)
    compared: list[str] = []
    monkeypatch.setattr(pins.PinHasher, "verify", lambda self, pin, kept: bool(compared.append(pin)))
    tablet = Tablet.objects.get(pk=fresh.tablet.pk)

    def one(pin: str) -> str:
        try:
            pins.check(person=linnet, tablet=tablet, pin=pin, at=NOON)
        except Refused as refusal:
            return type(refusal).__name__
        finally:
            connection.close()
        return "in"

    with ThreadPoolExecutor(max_workers=40) as pool:
        said = list(pool.map(one, OTHERS[:40]))
    assert len(compared) == 5 and said.count("Refused") == 5 and said.count("TooMany") == 35
    assert Pin.objects.get().misses == 5


@pytest.mark.django_db
def test_the_miss_stands_before_the_hash_is_made(
    tablet: tablets.Fresh, linnet: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[int] = []
    monkeypatch.setattr(
        pins.PinHasher, "verify", lambda *_: bool(seen.append(Pin.objects.get().misses)) or True
    )
    pins.check(person=linnet, tablet=tablet.tablet, pin=GOOD, at=NOON)
    assert seen == [1]


def with_password(person: Person) -> Client:
    client = Client()
    client.post("/sign-in/", {"login": person.login, "password": PASSWORD})
    return client


@pytest.mark.django_db
def test_one_sets_ones_own_pin_with_the_password() -> None:
    client = with_password(builders.a_maker())
    url = "/preferences/ways/pin/"
    body = {"pin": GOOD, "again": GOOD, "present": "not mine at all", "once_key": "a"}
    assert client.post(url, body).status_code == 422 and not Pin.objects.exists()
    easy = client.post(url, body | {"present": PASSWORD, "pin": "123456", "again": "123456", "once_key": "b"})
    assert easy.status_code == 422 and "run of digits" in easy.content.decode()
    differ = client.post(url, body | {"present": PASSWORD, "again": "730258", "once_key": "c"})
    assert "The two PINs differ" in differ.content.decode()
    assert client.post(url, body | {"present": PASSWORD, "once_key": "d"}).status_code == 302
    assert Pin.objects.count() == 1
    page = client.get("/preferences/ways/").content.decode()
    assert "you have had a PIN since" in page and GOOD not in page


def print_badge(client: Client, url: str, **fields: str) -> HttpResponse:
    return client.post(url, {"once_key": f"{url}{len(fields)}", **fields})


@pytest.mark.django_db
def test_a_badge_opens_the_bench_until_it_is_taken_back(tablet: tablets.Fresh) -> None:
    person = builders.a_maker()
    own = with_password(person)
    assert print_badge(own, "/preferences/ways/badge/").status_code == 422
    sheet = print_badge(own, "/preferences/ways/badge/", present=PASSWORD)
    assert sheet["Content-Type"] == "application/pdf"
    paper = PdfReader(io.BytesIO(sheet.content)).pages[0].extract_text()
    assert "Linnet Marsh" in paper and "Owlpenny Herbs" in paper
    printed = badges.make(person=person, by=person, at=NOON)
    assert len(printed.text.removeprefix("CLB1:")) == 26, "128 bits in base 32 (RFC 4648)"
    assert Badge.objects.filter(revoked_at=None).count() == 1, "the new one ends the old one"
    assert not Badge.objects.filter(digest__icontains=printed.text).exists()
    client = builders.on_tablet(tablet)
    for code in (printed.text.lower(), f" {printed.text}\n"):
        came = client.post("/bench/badge/", {"code": code, "next": "/rounds/"})
        assert came["Location"] == "/rounds/" and client.session["bench"] is True
        client.post("/bench/leave/", {"next": "/rounds/"})
        assert not is_in(client)
    assert own.post("/preferences/ways/badge/back/", {"once_key": "back"}).status_code == 302
    refused = client.post("/bench/badge/", {"code": printed.text})
    assert refused.status_code == 422 and "opens nothing" in refused.content.decode()


@pytest.mark.django_db
def test_the_owner_prints_a_badge_for_somebody() -> None:
    person, owner = builders.a_maker(), with_password(builders.an_owner())
    sheet = print_badge(owner, f"/staff/{person.pk}/badge/")
    assert sheet["Content-Type"] == "application/pdf" and Badge.objects.get().person == person
    with pytest.raises(Refused, match="oneself"):
        badges.make(person=builders.an_owner(), by=person, at=NOON)


@pytest.mark.django_db
def test_badges_cannot_be_guessed_quickly(tablet: tablets.Fresh) -> None:
    client = builders.on_tablet(tablet)
    answers = [client.post("/bench/badge/", {"code": f"CLB1:{n}"}).status_code for n in range(22)]
    assert answers[0] == 422 and answers[-1] == 429


@pytest.mark.django_db
def test_who_is_switched_off_or_new_gets_no_bench(tablet: tablets.Fresh, linnet: Person) -> None:
    client = builders.on_tablet(tablet)
    badge = badges.make(person=linnet, by=linnet, at=NOON)
    Person.objects.filter(pk=linnet.pk).update(initial_until=NOON + timedelta(days=1))
    builders.a_workshop(bench_by="tap")
    sent = client.post(reverse("people:bench-tap", args=[linnet.pk]), {"next": "/"})
    assert sent["Location"].startswith("/sign-in/")
    assert client.post("/bench/badge/", {"code": badge.text}).status_code == 422
    assert guess(client, linnet, GOOD).status_code == 422
    Person.objects.filter(pk=linnet.pk).update(initial_until=None, is_active=False)
    assert client.post(reverse("people:bench-tap", args=[linnet.pk])).status_code == 404
    assert guess(client, linnet, GOOD).status_code == 404
    assert client.post("/bench/badge/", {"code": badge.text}).status_code == 422
    assert not is_in(client)


@pytest.mark.django_db
def test_the_board_stays_readable_on_a_locked_tablet(
    tablet: tablets.Fresh, linnet: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = builders.on_tablet(tablet)
    guess(client, linnet, GOOD)
    assert "Not you?" in client.get("/rounds/").content.decode()
    monkeypatch.setattr("workshop.clock.now", lambda: NOON + timedelta(minutes=5, seconds=1))
    for url in ("/", "/rounds/"):
        page = client.get(url)
        assert page.status_code == 200 and not is_in(client)
        text = page.content.decode()
        assert "Nobody is at the bench" in text and "Linnet Marsh" in text and "Not you?" not in text
        assert "/preferences/" not in text
    wall = client.get("/wall/")
    assert wall.status_code == 200 and "Linnet Marsh" not in wall.content.decode(), "no names on the wall"
    for url in ("/storeroom/", "/preferences/", "/staff/", "/batches/"):
        assert client.get(url)["Location"].startswith("/bench/?next=")
    shaken = client.post("/rounds/shake/", {"stages": "1", "once_key": "k"})
    assert shaken.status_code in (302, 404)
    assert Client().get("/rounds/")["Location"].startswith("/sign-in/"), "no tablet, no board"


@pytest.mark.django_db
def test_an_act_from_the_locked_board_leads_to_the_names_and_back(tablet: tablets.Fresh) -> None:
    client = builders.on_tablet(tablet)
    url = reverse("batches:rounds-shake")
    sent = client.post(
        url, {"stages": "1", "once_key": "k"}, headers={"Referer": "http://testserver/rounds/"}
    )
    assert sent["Location"] == "/bench/?next=%2Frounds%2F"
    htmx = client.post(url, {}, headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/rounds/"})
    assert htmx.status_code == 401 and htmx["HX-Redirect"] == "/bench/?next=%2Frounds%2F"


@pytest.mark.django_db
def test_two_taps_from_the_locked_board(tablet: tablets.Fresh, linnet: Person) -> None:
    """The name and the act: the strip on the board leads back to the page it stands on."""
    builders.a_workshop(bench_by="tap")
    client = builders.on_tablet(tablet)
    page = client.get("/rounds/").content.decode()
    assert f'formaction="/bench/{linnet.pk}/"' in page and 'name="next" value="/rounds/"' in page
    assert client.post(f"/bench/{linnet.pk}/", {"next": "/rounds/"})["Location"] == "/rounds/"
    assert client.get("/rounds/").status_code == 200

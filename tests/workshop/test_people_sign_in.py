"""Signing in and out: one neutral sentence, counted guesses, sessions that end."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from html import escape
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import hashers
from django.db import connection
from django.http import QueryDict
from django.test import Client
from django.utils.datastructures import MultiValueDict

from tests.builders import NOON, PASSWORD, a_maker, a_workshop, an_owner
from tests.screens.test_headers import profile
from workshop.people import passwords, signing, throttle
from workshop.people.forms.entering import PasswordForm
from workshop.people.models import Person, Throttle

NEW = "the heron waits in reeds"
SetClock = Callable[[datetime], None]


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> SetClock:
    """The one clock, set by hand."""

    def put(moment: datetime) -> None:
        monkeypatch.setattr("workshop.clock.now", lambda: moment)

    put(NOON)
    return put


@pytest.fixture
def maker(db: None, clock: SetClock) -> Person:
    a_workshop()
    return a_maker()


def sign_in(client: Client, login: str = "linnet", password: str = PASSWORD, **more: str) -> Any:
    return client.post("/sign-in/", {"login": login, "password": password, **more})


def is_in(client: Client) -> bool:
    return client.get("/preferences/").status_code == 200


def test_a_person_comes_in_by_name_and_password(maker: Person, client: Client) -> None:
    assert sign_in(client, " LINNET ")["Location"] == "/"
    assert is_in(client)
    assert client.get("/sign-in/")["Location"] == "/"


def test_the_page_asks_by_the_workshops_name(maker: Person, client: Client) -> None:
    page = client.get("/sign-in/?next=/staff/").content.decode()
    assert "Owlpenny Herbs" in page and 'value="/staff/"' in page
    assert "Rounds" not in page, "a stranger is shown no menu"


def test_one_sentence_whatever_is_wrong(maker: Person, client: Client) -> None:
    """OWASP Authentication Cheat Sheet: the answer must not tell a wrong name from a wrong password."""
    gone = a_maker("wren")
    Person.objects.filter(pk=gone.pk).update(is_active=False)
    late = a_maker("teal")
    Person.objects.filter(pk=late.pk).update(initial_until=NOON - timedelta(seconds=1))
    tries = [("linnet", "not the right one"), ("nobody", PASSWORD), ("wren", PASSWORD), ("teal", PASSWORD)]
    for login, password in tries:
        response = sign_in(client, login, password)
        assert response.status_code == 422, login
        assert escape(signing.NEUTRAL) in response.content.decode(), login
        assert f'value="{login}"' in response.content.decode()
        assert password not in response.content.decode()


def test_an_unknown_name_costs_as_much_time_as_a_known_one(maker: Person, client: Client) -> None:
    """One hashing each: counted, not timed."""
    hashed: list[str] = []

    class Counting(passwords.Hasher):
        def encode(self, password: str, salt: str) -> str:
            hashed.append(password)
            return super().encode(password, salt)

        def verify(self, password: str, encoded: str) -> bool:
            hashed.append(password)
            return super().verify(password, encoded)

    hasher = Counting()
    maker.password = hasher.encode(PASSWORD, "somesaltsomesalt")
    maker.save()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(hashers, "get_hashers", lambda: [hasher])
        patch.setattr(hashers, "get_hasher", lambda algorithm="default": hasher)
        patch.setattr(hashers, "identify_hasher", lambda encoded: hasher)
        hashed.clear()
        sign_in(client, "linnet", "not the right one")
        known = len(hashed)
        hashed.clear()
        sign_in(client, "nobody", "not the right one")
        assert len(hashed) == known == 1


def test_five_wrong_guesses_close_the_name_and_nobody_elses(
    maker: Person, client: Client, clock: SetClock
) -> None:
    an_owner()
    for _ in range(5):
        assert sign_in(client, password="not the right one").status_code == 422
    shut = sign_in(client)
    assert shut.status_code == 429 and "Too many tries. Wait 31 seconds" in shut.content.decode()
    assert sign_in(Client(), "rowan").status_code == 302
    clock(NOON + timedelta(seconds=31))
    assert sign_in(client).status_code == 302
    clock(NOON + timedelta(seconds=32))
    assert sign_in(Client(), password="not the right one").status_code == 422, "counting starts afresh"


def test_an_unknown_name_closes_just_the_same(maker: Person, client: Client) -> None:
    """Or the closing itself would tell who works here."""
    for _ in range(5):
        sign_in(client, "nobody")
    assert sign_in(client, "nobody").status_code == 429


def test_waits_double_up_to_a_quarter_of_an_hour(maker: Person) -> None:
    """NIST SP 800-63B-4 3.2.2: increasing waits between 30 s and an hour."""
    moment, waits = NOON, []
    for _ in range(12):
        throttle.claim(key="k", rule=throttle.PERSON, at=moment)
        closed = Throttle.objects.get(pk="k").closed_until
        waits.append((closed - moment).total_seconds() if closed else 0)
        moment = closed or moment
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900]


def test_old_misses_are_forgotten(maker: Person, client: Client, clock: SetClock) -> None:
    for _ in range(4):
        sign_in(client, password="not the right one")
    clock(NOON + timedelta(hours=1, seconds=1))
    for _ in range(4):
        assert sign_in(client, password="not the right one").status_code == 422
    assert sign_in(client).status_code == 302


def test_no_typed_name_is_kept_in_the_clear(maker: Person, client: Client) -> None:
    """People type passwords into name boxes."""
    sign_in(client, "a secret typed one line too high")
    assert not any("secret" in row.key for row in Throttle.objects.all())


def test_everybody_is_slowed_when_somebody_tries_many_names(maker: Person, client: Client) -> None:
    for n in range(throttle.EVERYBODY.free):
        throttle.claim(key=signing.EVERYBODY, rule=throttle.EVERYBODY, at=NOON + timedelta(microseconds=n))
    assert sign_in(client).status_code == 429


def test_right_sign_ins_do_not_count_against_everybody(maker: Person) -> None:
    for _ in range(3):
        sign_in(Client())
    assert Throttle.objects.get(pk=signing.EVERYBODY).misses == 0


@pytest.mark.django_db(transaction=True)
def test_parallel_guesses_cannot_slip_past_the_count(
    clock: SetClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Forty at once: no more than five may reach the comparing."""
    a_workshop()
    a_maker()
    compared: list[str] = []

    def compare(request: Any, *, username: str, password: str) -> None:
        compared.append(password)

    monkeypatch.setattr(signing, "authenticate", compare)

    def guess(n: int) -> int:
        try:
            return sign_in(Client(), password=f"guess number {n}").status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(40) as pool:
        answers = list(pool.map(guess, range(40)))
    assert len(compared) == 5
    assert sorted(answers) == [422] * 5 + [429] * 35


def test_signing_in_takes_a_new_session_key(maker: Person, client: Client) -> None:
    """OWASP Session Management: a planted session must be worth nothing."""
    session = client.session
    session["planted"] = True
    session.save()
    before = session.session_key
    sign_in(client)
    assert client.session.session_key != before
    stranger = Client()
    stranger.cookies[settings.SESSION_COOKIE_NAME] = str(before)
    assert not is_in(stranger)


@pytest.mark.parametrize(
    ("wanted", "leads"),
    [
        ("/staff/?x=1", "/staff/?x=1"),
        ("//elsewhere.example/", "/"),
        ("https://elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("/\\elsewhere.example", "/"),
        ("", "/"),
    ],
)
def test_the_way_on_stays_in_the_house(maker: Person, client: Client, wanted: str, leads: str) -> None:
    assert sign_in(client, next=wanted)["Location"] == leads
    assert client.get("/sign-in/", {"next": wanted})["Location"] == leads


def test_a_session_ends_after_twelve_hours_of_work(maker: Person, client: Client, clock: SetClock) -> None:
    """NIST SP 800-63B-4 AAL2, OWASP ASVS 5.0.0 7.3.2: an absolute end, however busy the hands."""
    sign_in(client)
    moment = NOON
    while moment < NOON + timedelta(hours=12):
        clock(moment)
        assert is_in(client), moment
        moment += timedelta(minutes=20)
    clock(NOON + timedelta(hours=12, seconds=1))
    response = client.get("/preferences/", follow=True)
    assert response.redirect_chain == [("/sign-in/?next=%2Fpreferences%2F", 302)]
    assert "You were signed out after a while" in response.content.decode()


def test_a_quiet_session_ends_after_half_an_hour(maker: Person, client: Client, clock: SetClock) -> None:
    """ASVS 5.0.0 7.3.1."""
    sign_in(client)
    clock(NOON + timedelta(minutes=29))
    assert is_in(client)
    clock(NOON + timedelta(minutes=58))
    assert is_in(client)
    clock(NOON + timedelta(minutes=88, seconds=1))
    assert not is_in(client)


def test_signing_out_ends_the_session_on_the_server(maker: Person, client: Client) -> None:
    sign_in(client)
    kept = client.cookies[settings.SESSION_COOKIE_NAME].value
    response = client.post("/sign-out/")
    assert response["Location"] == "/sign-in/" and "cache" in response["Clear-Site-Data"]
    client.cookies[settings.SESSION_COOKIE_NAME] = kept
    assert not is_in(client)


def test_a_first_password_must_be_changed_before_anything_else(maker: Person, client: Client) -> None:
    Person.objects.filter(pk=maker.pk).update(initial_until=NOON + timedelta(days=7))
    sign_in(client)
    assert client.get("/preferences/")["Location"] == "/preferences/password/"
    assert client.post("/preferences/", {})["Location"] == "/preferences/password/"
    page = client.get("/preferences/password/").content.decode()
    assert "Choose a password that only you know" in page
    assert change(client).status_code == 302
    assert is_in(client)
    assert Person.objects.get(pk=maker.pk).initial_until is None


def change(client: Client, present: str = PASSWORD, new: str = NEW, again: str | None = None) -> Any:
    form = client.get("/preferences/password/").context["form"]
    fields = {"present": present, "password": new, "again": new if again is None else again}
    return client.post("/preferences/password/", fields | {"once_key": form["once_key"].value()})


def test_a_new_password_ends_every_other_session(maker: Person, client: Client) -> None:
    """ASVS 5.0.0 7.4.3."""
    other = Client()
    sign_in(client)
    sign_in(other)
    before = client.session.session_key
    assert change(client).status_code == 302
    assert is_in(client) and not is_in(other)
    assert client.session.session_key != before
    assert sign_in(Client()).status_code == 422 and sign_in(Client(), password=NEW).status_code == 302


def test_the_present_password_is_asked_and_guesses_at_it_are_counted(maker: Person, client: Client) -> None:
    sign_in(client)
    for _ in range(5):
        response = change(client, present="not the right one")
        assert response.status_code == 422
        assert "This is not your present password" in response.content.decode()
    assert "Too many tries" in change(client).content.decode()
    assert Person.objects.get(pk=maker.pk).check_password(PASSWORD)


def test_the_new_password_must_be_another(maker: Person, client: Client) -> None:
    sign_in(client)
    assert "This is the present password" in change(client, new=PASSWORD).content.decode()


def test_no_hash_of_a_password_is_kept_with_the_request_key(maker: Person, client: Client) -> None:
    """A quick hash beside the slow one would undo it: the body's hash must not depend on the password."""

    class Sent:
        FILES: MultiValueDict[str, Any] = MultiValueDict()

        def __init__(self, **fields: str) -> None:
            self.POST = QueryDict(mutable=True)
            self.POST.update(fields)

    form = PasswordForm(person=maker)
    one = form.body(Sent(present="a", password="b", again="b", once_key="k"))  # type: ignore[arg-type]
    two = form.body(Sent(present="c", password="d", again="d", once_key="k"))  # type: ignore[arg-type]
    assert one == two == {"once_key": ["k"]}


def test_somebody_switched_off_is_out_at_once(maker: Person, client: Client) -> None:
    sign_in(client)
    Person.objects.filter(pk=maker.pk).update(is_active=False)
    assert not is_in(client)


def test_the_hashing_is_above_owasps_least() -> None:
    """OWASP Password Storage Cheat Sheet: Argon2id, 19 MiB, 2 passes, 1 lane at the least."""
    encoded = passwords.Hasher().encode(PASSWORD, passwords.Hasher().salt())
    _, variety, _, parameters, *_ = encoded.split("$")
    found = dict(part.split("=") for part in parameters.split(","))
    assert variety == "argon2id"
    assert int(found["m"]) >= 19 * 1024 and int(found["t"]) >= 2 and int(found["p"]) >= 1


def test_the_shipped_settings_use_it() -> None:
    """In a fresh process: the tests' own settings hash cheaply."""
    kept = profile(TLS="0")
    assert kept["PASSWORD_HASHERS"] == ["workshop.people.passwords.Hasher"]
    assert (kept["SESSION_COOKIE_AGE"], kept["SESSION_IDLE_SECONDS"]) == (12 * 3600, 30 * 60)

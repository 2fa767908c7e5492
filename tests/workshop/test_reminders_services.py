"""Services through the Apprise library: what is refused, what is kept, what leaves, and its secrets."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from django.conf import settings as house_settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import ADDRESS, a_series, a_service
from workshop.errors import Refused
from workshop.reminders import services, settling
from workshop.reminders.models import Channel, Message
from workshop.reminders.seal import seal, unseal
from workshop.reminders.sweep import GIVE_UP, sweep

SECRET = "the-owner-s-own-topic"


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("", "cannot be read"),
        ("tell rowan", "one line without spaces"),
        ("nonsense://x", "cannot be read"),
        ("ntfys://", "cannot be read"),
        ("tgram://", "cannot be read"),
        ("json://example.org/hook", "posts to any web address"),
        ("forms://example.org/hook", "posts to any web address"),
        ("XML://example.org", "posts to any web address"),
        ("syslog://", "writes to this machine"),
        ("dbus://", "writes to this machine"),
        ("fcm://project@key/device", "key file"),
        ("ntfy://127.0.0.1/topic", "is this machine itself"),
        ("ntfy://localhost:8080/topic", "is this machine itself"),
        ("gotify://169.254.169.254/token", "is this machine itself"),
        ("gotify://[::1]/token", "is this machine itself"),
        ("mailto://rowan:pw@owlpenny.example?smtp=127.0.0.1", "is this machine itself"),
        ("discord://123456789012345678/abcdefghijk?template=/etc/passwd", "“template=” is not taken"),
        ("mailtos://rowan:pw@owlpenny.example?pgppub=/etc/passwd", "“pgppub=” is not taken"),
        ("ntfys://owlpenny.example/topic?attach=file:///etc/passwd", "“attach=” is not taken"),
        ("ntfys://owlpenny.example/" + "x" * 1001, "at most 1,000"),
    ],
)
def test_what_carries_no_message_to_a_person_is_refused_in_words(address: str, said: str) -> None:
    with pytest.raises(Refused, match=said) as refusal:
        services.read_address(address)
    assert refusal.value.field == "service_address"


@pytest.mark.parametrize(
    ("address", "name", "host"),
    [
        (ADDRESS, "ntfy", "push.owlpenny.example"),
        ("gotifys://push.owlpenny.example/abcdefghijklmno", "Gotify", "push.owlpenny.example"),
        ("mailtos://rowan:pw@owlpenny.example?to=linnet@owlpenny.example", "E-Mail", "owlpenny.example"),
        ("pover://abcdefghijklmnopqrstuvwxyz1234@abcdefghijklmnopqrstuvwxyz5678", "Pushover", ""),
    ],
)
def test_the_library_s_own_parser_reads_the_rest(address: str, name: str, host: str) -> None:
    found = services.read_address(address)
    assert (found.name, found.host) == (name, host)


def test_a_sealed_address_opens_with_its_key_or_an_old_one_only(settings: Any) -> None:
    sealed = seal(ADDRESS)
    assert SECRET not in sealed
    assert unseal(sealed) == ADDRESS
    settings.SECRET_KEY_FALLBACKS, settings.SECRET_KEY = [house_settings.SECRET_KEY], "another key altogether"
    assert unseal(sealed) == ADDRESS
    settings.SECRET_KEY_FALLBACKS = []
    with pytest.raises(Refused, match="Take the service away and add it again"):
        unseal(sealed)


@pytest.mark.django_db
def test_the_address_is_in_no_row_and_on_no_page() -> None:
    a_workshop()
    hand = Client()
    hand.force_login(an_owner())
    typed = {"name": "My phone", "service_address": ADDRESS, "when": "due", "once_key": "k" * 32}
    answer = hand.post(reverse("reminders:service-add"), typed)
    row = Channel.objects.get()
    pages = [answer.headers["Location"], reverse("reminders:mine"), reverse("reminders:sent")]
    assert pages[0] == reverse("reminders:service", args=[row.pk])
    for page in pages:
        text = hand.get(page).content.decode()
        assert SECRET not in text
    assert unseal(row.sealed) == ADDRESS
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT count(*) FROM "{table}" t WHERE t::text LIKE %s', [f"%{SECRET}%"])
            assert cursor.fetchone()[0] == 0, table
    settling.remove_channel(channel=row.pk, by=an_owner(), at=NOON)
    row.refresh_from_db()
    assert row.sealed == ""


@pytest.mark.django_db
def test_a_refused_address_stays_as_typed_with_the_reason_beside_it() -> None:
    a_workshop()
    hand = Client()
    hand.force_login(a_maker())
    typed = {"name": "Hook", "service_address": "json://example.org/x", "when": "due", "once_key": "k" * 32}
    answer = hand.post(reverse("reminders:service-add"), typed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Address: json:// posts to any web address." in page
    assert 'value="json://example.org/x"' in page
    assert Channel.objects.count() == 0


@pytest.mark.django_db
def test_nobody_touches_another_s_service() -> None:
    a_workshop()
    theirs = a_service(an_owner())
    hand = Client()
    hand.force_login(a_maker())
    for name in ("service-test", "service-remove", "service"):
        answer = hand.post(reverse(f"reminders:{name}", args=[theirs.pk]), {"once_key": "k" * 32})
        assert answer.status_code == 409
    theirs.refresh_from_db()
    assert theirs.removed_at is None
    assert Message.objects.count() == 0


class Push(BaseHTTPRequestHandler):
    """As much of a push server as the library needs: it keeps what comes, and answers as it is told."""

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        self.server.taken.append((self.path, body))  # type: ignore[attr-defined]
        self.send_response(self.server.answer)  # type: ignore[attr-defined]
        self.send_header("Content-Length", "2")
        self.end_headers()
        self.wfile.write(b"{}")

    def log_message(self, *_: object) -> None:
        return


@contextmanager
def a_push_server(answer: int = 200) -> Iterator[Any]:
    with ThreadingHTTPServer(("127.0.0.1", 0), Push) as server:
        server.taken, server.answer = [], answer  # type: ignore[attr-defined]
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()


def a_local_service(server: Any) -> Channel:
    """Typed, it would be refused; here it stands in for a service on another machine."""
    row = a_service(an_owner())
    Channel.objects.filter(pk=row.pk).update(sealed=seal(f"ntfy://127.0.0.1:{server.server_port}/{SECRET}"))
    return row


@pytest.mark.django_db(transaction=True)
def test_a_message_really_leaves_and_says_which_one_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    a_workshop()
    monkeypatch.setattr(services, "leads_home", lambda host: False)
    with a_push_server() as server:
        row = a_local_service(server)
        settling.test_channel(channel=row.pk, by=an_owner(), at=NOON)
        with pytest.raises(Refused, match="still on its way"):
            settling.test_channel(channel=row.pk, by=an_owner(), at=NOON)
        assert sweep(at=NOON).sent == 1
        assert sweep(at=NOON).sent == 0
    ((_, body),) = server.taken
    message = Message.objects.get()
    assert "This is a test for Rowan Ashby" in body
    assert "the same mark is the same message" in body
    assert message.sent_at == NOON


@pytest.mark.django_db(transaction=True)
def test_what_a_service_refuses_is_told_in_its_words_without_its_secrets(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    a_workshop()
    monkeypatch.setattr(services, "leads_home", lambda host: False)
    with a_push_server(403) as server, caplog.at_level(logging.DEBUG):
        row = a_local_service(server)
        settling.test_channel(channel=row.pk, by=an_owner(), at=NOON)
        assert sweep(at=NOON).failed == 1
    message = Message.objects.get()
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    assert "403" in message.error
    assert SECRET not in message.error
    ours = [record.getMessage() for record in caplog.records if not record.name.startswith("apprise")]
    assert not any(SECRET in line for line in ours)
    hand = Client()
    hand.force_login(an_owner())
    page = hand.get(reverse("reminders:sent")).content.decode()
    assert "1 message did not get through." in page
    assert "403" in page and SECRET not in page
    assert sweep(at=NOON + GIVE_UP).failed == 1
    message.refresh_from_db()
    assert message.dropped_at is not None
    with a_push_server() as again:
        Channel.objects.filter(pk=row.pk).update(
            sealed=seal(f"ntfy://127.0.0.1:{again.server_port}/{SECRET}")
        )
        later = NOON + GIVE_UP * 2
        monkeypatch.setattr("workshop.clock.now", lambda: later)
        session = hand.session
        session["started"] = session["seen"] = later.timestamp()
        session.save()
        hand.post(reverse("reminders:retry", args=[message.pk]), {"once_key": "r" * 32})
        assert sweep(at=later).sent == 1
    assert len(again.taken) == 1


@pytest.mark.django_db(transaction=True)
def test_a_host_name_that_leads_to_this_machine_is_found_out_at_sending() -> None:
    a_workshop()
    with a_push_server() as server:
        row = a_local_service(server)
        settling.test_channel(channel=row.pk, by=an_owner(), at=NOON)
        assert sweep(at=NOON).failed == 1
    assert server.taken == []
    assert "leads to this machine itself" in Message.objects.get().error


@pytest.mark.django_db
def test_in_the_demo_a_test_is_shown_and_stays_here() -> None:
    a_workshop(is_demo=True)
    row = a_service(an_owner())
    hand = Client()
    hand.force_login(an_owner())
    hand.post(reverse("reminders:service-test", args=[row.pk]), {"once_key": "k" * 32})
    assert sweep(at=NOON).sent == 0
    page = hand.get(reverse("reminders:service", args=[row.pk])).content.decode()
    assert "This is a test for Rowan Ashby" in page
    assert "shown here" in page


@pytest.mark.django_db
def test_a_service_taken_away_gets_nothing_more() -> None:
    a_workshop()
    row = a_service(an_owner())
    a_series()
    settling.test_channel(channel=row.pk, by=an_owner(), at=NOON)
    settling.remove_channel(channel=row.pk, by=an_owner(), at=NOON)
    assert sweep(at=NOON) == type(sweep(at=NOON))(0, 0, 0, 0)
    assert Message.objects.get().dropped_at == NOON

"""The sweep: one digest a person and day, sent at least once and never as two different messages."""

from __future__ import annotations

import os
import smtplib
import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core import mail
from django.db import connection

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import SHAKE, a_series
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders import sweep as sweeping
from workshop.reminders.models import Due, Message
from workshop.reminders.queries import due_now, todays_digest
from workshop.reminders.rules import After, Every, Once, Window
from workshop.reminders.settle import mark_done
from workshop.reminders.sweep import Swept, send_messages, sweep

pytestmark = pytest.mark.django_db(transaction=True)

CRASHES = int(os.environ.get("CRASHES", "1"))  # at each point; `make soak` asks for 100
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
OPENS = NOON + DAY - timedelta(hours=4, minutes=30)  # Tuesday 3 March 2026, 07:30 in London


class Killed(BaseException):
    """Stands for kill -9: nothing in the house catches it."""


@pytest.fixture(autouse=True)
def house(settings: Any) -> Workshop:
    settings.EMAIL_HOST = "mail.example"
    for person in (an_owner(), a_maker()):
        Person.objects.filter(pk=person.pk).update(email=f"{person.login}@owlpenny.example")
    return a_workshop()


def ids() -> list[str]:
    return [message.extra_headers["Message-ID"] for message in mail.outbox]


def test_each_person_gets_one_digest_a_day_once_the_workshop_opens() -> None:
    a_series()
    assert sweep(at=OPENS - timedelta(minutes=1)) == Swept(0, 0, 0, 0)
    assert sweep(at=OPENS) == Swept(0, 2, 2, 0)
    for minutes in range(1, 60 * 16, 30):
        assert sweep(at=OPENS + timedelta(minutes=minutes)).sent == 0
    assert sorted(message.to[0] for message in mail.outbox) == [
        "linnet@owlpenny.example",
        "rowan@owlpenny.example",
    ]
    assert len(set(ids())) == 2
    assert mail.outbox[0].subject == "Owlpenny Herbs: 1 thing to do"
    assert "Top shelf\n- Shake turkey tail TT-12 (07:30)" in mail.outbox[0].body


def test_the_hour_is_the_workshop_s_own() -> None:
    Workshop.objects.update(zone="America/New_York")
    a_series()
    assert sweep(at=OPENS + 4 * HOUR + timedelta(minutes=59)).made == 0
    assert sweep(at=OPENS + 5 * HOUR).made == 2


def test_nobody_is_written_to_without_a_reason() -> None:
    a_series()
    Person.objects.filter(login="linnet").update(wants_digest=False)
    Person.objects.filter(login="rowan").update(is_active=False)
    assert sweep(at=OPENS).made == 0
    Person.objects.update(wants_digest=True, is_active=True)
    mark_done(key=SHAKE, by=a_maker(), at=OPENS)
    assert sweep(at=OPENS).made == 0


def test_before_the_setup_there_is_nothing_to_do() -> None:
    Workshop.objects.all().delete()
    assert sweep(at=OPENS) == Swept(0, 0, 0, 0)


@pytest.mark.parametrize("why", ["demo", "no mail server", "no address"])
def test_what_is_not_mailed_is_shown_on_the_screen(why: str, settings: Any) -> None:
    a_series()
    if why == "demo":
        Workshop.objects.update(is_demo=True)
    if why == "no mail server":
        settings.EMAIL_HOST = ""
    if why == "no address":
        Person.objects.update(email="")
    assert todays_digest(person=a_maker(), at=OPENS) is None
    assert sweep(at=OPENS) == Swept(0, 2, 0, 0)
    assert mail.outbox == []
    shown = todays_digest(person=a_maker(), at=OPENS)
    assert shown is not None
    assert shown.shown_only is True
    assert "Shake turkey tail TT-12" in shown.body


def test_a_closed_day_is_quiet_but_for_what_must_be_done() -> None:
    Workshop.objects.update(closed_weekdays=[1])  # 3 March 2026 is a Tuesday
    a_series()
    # A lot to move that was to be done by Monday, and is still there on Tuesday.
    assert sweep(at=OPENS).made == 0
    a_series("move", Once(NOON + timedelta(hours=1), must=True), title="Move the ether", act="move")
    assert sweep(at=OPENS).made == 2
    assert "Move the ether (late, was due Mon 2 March)" in mail.outbox[0].body
    assert "Shake" not in mail.outbox[0].body


def test_a_watched_pot_is_the_board_s_unless_it_was_overlooked() -> None:
    a_series(
        "pot", Every(30), act="watch", title="Look at the pot", starts_at=OPENS - 20 * timedelta(minutes=1)
    )
    assert sweep(at=OPENS).made == 0
    assert sweep(at=OPENS + HOUR).made == 2
    assert "Look at the pot" in mail.outbox[0].body


def test_names_with_markup_and_line_breaks_stay_plain_text_in_one_header() -> None:
    Workshop.objects.update(name="Owl & Penny\nBcc: x@y.example")
    a_series(title="Shake <b>it</b> & wait")
    assert sweep(at=OPENS).sent == 2
    assert mail.outbox[0].subject == "Owl & Penny Bcc: x@y.example: 1 thing to do"
    assert "Shake <b>it</b> & wait" in mail.outbox[0].body


def test_a_day_without_a_broker_is_caught_up_once_and_marked_late() -> None:
    for number in range(40):
        a_series(f"stage:{number}:settle", After(20), title=f"Decant {number}", act="settle")
    # 40 were due on 3 March at 08:00; nothing ran from the 2nd to the 4th.
    back = OPENS + DAY
    items = due_now(at=back)
    assert len(items) == 40
    assert all(item.late for item in items)
    assert sweep(at=back) == Swept(0, 2, 2, 0)
    assert all(sweep(at=back + timedelta(minutes=n)).sent == 0 for n in range(1, 30))
    body = mail.outbox[0].body
    assert all(body.count(f"Decant {number} (late, was due Tue 3 March)") == 1 for number in range(40))
    assert mail.outbox[0].subject == "Owlpenny Herbs: 40 things to do, 40 late"
    assert Due.objects.count() == 40


def test_a_clock_that_jumps_sends_nothing_twice() -> None:
    a_series()
    for at in (OPENS, OPENS + 26 * HOUR, OPENS + 26 * HOUR + timedelta(minutes=10), OPENS - 2 * HOUR):
        sweep(at=at)
    for minutes in range(0, 60 * 40, 15):
        sweep(at=OPENS - 2 * HOUR + timedelta(minutes=minutes))
    days = [(row.person_id, row.day) for row in Message.objects.all()]
    assert len(days) == len(set(days)) == 4
    assert len(mail.outbox) == len(set(ids())) == 4


def test_a_claim_or_a_wait_written_by_a_clock_ahead_holds_no_mail_back() -> None:
    a_series()
    sweep(at=OPENS)
    ahead = OPENS + 26 * HOUR
    Message.objects.update(sent_at=None, claimed_at=ahead, try_at=ahead)
    assert send_messages(at=OPENS + timedelta(minutes=20)) == (2, 0)


def test_of_two_sweeps_at_once_each_mail_goes_once() -> None:
    for number in range(5):
        a_series(f"stage:{number}:shake")
    for number in range(20):
        person = Person.objects.create_person(
            login=f"hand{number}",
            name="H",
            role="maker",
            password="x" * 15,
            email=f"h{number}@owlpenny.example",
        )
        assert person.wants_digest
    gate, found = threading.Barrier(4), []

    def one() -> None:
        gate.wait()
        try:
            found.append(sweep(at=OPENS))
        finally:
            connection.close()

    threads = [threading.Thread(target=one) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert sum(swept.sent for swept in found) == len(mail.outbox) == len(set(ids())) == 22
    assert sum(swept.failed for swept in found) == 0


def test_who_was_switched_off_hears_nothing_more(monkeypatch: pytest.MonkeyPatch) -> None:
    a_series()
    with monkeypatch.context() as patched:
        patched.setattr(sweeping, "send", lambda row: (_ for _ in ()).throw(OSError("down")))
        sweep(at=OPENS)
    Person.objects.filter(login="linnet").update(is_active=False)
    assert sweep(at=OPENS + 2 * HOUR).sent == 1
    assert [message.to for message in mail.outbox] == [["rowan@owlpenny.example"]]


def killed(*_: object, **__: object) -> None:
    raise Killed


def after(do: Callable[..., None]) -> Callable[..., None]:
    def then_die(*args: Any, **kwargs: Any) -> None:
        do(*args, **kwargs)
        raise Killed

    return then_die


POINTS: dict[str, tuple[str, Callable[..., None], int]] = {
    "between claim and send": ("send", killed, 1),
    "between send and mark": ("send", after(sweeping.send), 2),
    "in the mark": ("mark_sent", killed, 2),
    "after the mark": ("mark_sent", after(sweeping.mark_sent), 1),
}


@pytest.mark.parametrize("turn", range(CRASHES))
@pytest.mark.parametrize("point", POINTS)
def test_a_crash_loses_no_mail_and_a_repeat_is_the_same_message(
    point: str, turn: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_series()
    Person.objects.filter(login="linnet").update(wants_digest=False)
    name, dies, copies = POINTS[point]
    with monkeypatch.context() as patched:
        patched.setattr(sweeping, name, dies)
        with pytest.raises(Killed):
            sweep(at=OPENS)
    assert sweep(at=OPENS + timedelta(minutes=9)).sent == 0
    sweep(at=OPENS + timedelta(minutes=10))
    sweep(at=OPENS + timedelta(minutes=30))
    assert len(mail.outbox) == copies
    assert len(set(ids())) == 1
    assert len({(message.body, message.extra_headers["Date"]) for message in mail.outbox}) == 1
    assert Message.objects.get().sent_at is not None


@pytest.mark.parametrize("step", ["make_digests", "plan_ahead"])
def test_a_crash_before_the_mails_are_made_is_made_good_by_the_next_sweep(
    step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_series()
    with monkeypatch.context() as patched:
        patched.setattr(sweeping, step, killed)
        with pytest.raises(Killed):
            sweep(at=OPENS)
    assert sweep(at=OPENS + timedelta(minutes=1)).sent == 2


def test_a_mail_that_throws_waits_longer_each_time_and_stops_no_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    a_series()
    send = sweeping.send

    def picky(row: Message) -> None:
        if row.to.startswith("rowan"):
            raise smtplib.SMTPRecipientsRefused({row.to: (550, b"no such box")})
        send(row)

    with monkeypatch.context() as patched:
        patched.setattr(sweeping, "send", picky)
        assert sweep(at=OPENS) == Swept(0, 2, 1, 1)
        tries = [sweep(at=OPENS + timedelta(minutes=n)).failed for n in range(1, 31)]
    assert [n for n, failed in enumerate(tries, 1) if failed] == [2, 6, 14, 30]
    row = Message.objects.get(to__startswith="rowan")
    assert "no such box" in row.error
    assert sweep(at=OPENS + 2 * HOUR).sent == 1
    row.refresh_from_db()
    assert (row.sent_at, row.error) == (OPENS + 2 * HOUR, "")


def test_digests_that_cannot_be_made_hold_back_no_older_mail(monkeypatch: pytest.MonkeyPatch) -> None:
    a_series()
    sweep(at=OPENS)
    Message.objects.update(sent_at=None, claimed_at=None)

    def throws(*, at: datetime) -> int:
        raise ValueError("template is broken")

    monkeypatch.setattr(sweeping, "make_digests", throws)
    assert sweep(at=OPENS + DAY) == Swept(0, 0, 2, 0)


def test_after_days_without_a_mail_server_one_digest_goes_out_not_five(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    a_series("press", Window(1, 2, 3), act="press", title="Press TT-12")
    with monkeypatch.context() as patched:
        patched.setattr(sweeping, "send", lambda row: (_ for _ in ()).throw(OSError("down")))
        for day in range(5):
            sweep(at=OPENS + day * DAY)
    back = OPENS + 4 * DAY + 6 * HOUR
    assert sweep(at=back).sent == 2
    assert sweep(at=back + 7 * HOUR).sent == 0
    assert len({message.to[0] for message in mail.outbox}) == len(mail.outbox) == 2
    assert "Press TT-12 (last day, late, was due Thu 5 March)" in mail.outbox[0].body

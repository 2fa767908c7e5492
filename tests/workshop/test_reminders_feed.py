"""The private calendar (RFC 5545): read by two libraries, revised, cancelled, closed to guessing."""

from __future__ import annotations

import logging
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar
import pytest
import vobject
from django.test import Client
from django.urls import reverse

from tests import builders_trace
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import SHAKE, a_feed, a_series
from workshop import clock
from workshop.people.models import Person, Throttle
from workshop.reminders.models import Due, Reach
from workshop.reminders.queries import due_now
from workshop.reminders.rules import Every, Window
from workshop.reminders.series import close_series, move_place, open_series
from workshop.reminders.settle import mark_done, skip, snooze, undo

pytestmark = pytest.mark.django_db
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
MORNING = NOON + DAY - 4 * HOUR  # 3 March 2026, 08:00 in London


@pytest.fixture(autouse=True)
def house(monkeypatch: pytest.MonkeyPatch) -> None:
    a_workshop()
    monkeypatch.setattr(clock, "now", lambda: NOON)


def fetch(token: str, **headers: str) -> Any:
    return Client().get(reverse("reminders:calendar", args=[token]), headers=headers)


def events(token: str) -> dict[str, icalendar.Event]:
    """By both libraries: what they read must agree, event by event."""
    text = fetch(token).content
    found = {str(event["UID"]): event for event in icalendar.Calendar.from_ical(text).walk("VEVENT")}
    seen = {event.uid.value: event for event in vobject.readOne(text.decode()).contents.get("vevent", [])}
    assert found.keys() == seen.keys()
    for uid, event in found.items():
        other = seen[uid]
        assert other.dtstart.value == event["DTSTART"].dt
        assert other.dtend.value == event["DTEND"].dt
        assert other.dtstamp.value == event["DTSTAMP"].dt
        assert int(other.sequence.value) == event["SEQUENCE"]
        assert other.status.value == event["STATUS"]
        assert other.summary.value == str(event["SUMMARY"])
    return found


def at(event: icalendar.Event) -> datetime:
    moment = event["DTSTART"].dt
    assert moment.tzinfo is not None and moment.utcoffset() == timedelta(0)
    return moment


def test_one_event_a_slot_in_utc_with_all_that_the_standard_asks_for() -> None:
    a_series()
    token = a_feed(a_maker())
    answer = fetch(token)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    found = list(events(token).values())
    slots = sorted(Due.objects.values_list("slot", flat=True))
    assert [at(event) for event in found] == slots and len(found) == 14
    for event in found:
        assert event["DTSTAMP"].dt.utcoffset() == timedelta(0)
        assert (event["STATUS"], event["SEQUENCE"]) == ("CONFIRMED", 0)
        assert str(event["SUMMARY"]) == "Shake turkey tail TT-12"
        assert str(event["LOCATION"]) == "Top shelf"
    document = icalendar.Calendar.from_ical(answer.content)
    assert str(document["VERSION"]) == "2.0"
    assert "PRODID" in document
    lines = answer.content.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert all(len(line) <= 75 for line in lines)  # RFC 5545, 3.1


def test_the_same_slot_keeps_its_name_and_counts_its_revisions() -> None:
    a_series()
    token = a_feed(a_maker())
    first = next(iter(events(token)))
    pk = due_now(at=MORNING)[0].pk
    snooze(due=pk, until=MORNING + 3 * HOUR, by=a_maker(), at=MORNING)
    moved = events(token)[first]
    assert (at(moved), moved["SEQUENCE"]) == (MORNING + 3 * HOUR, 1)
    move_place(was="Top shelf", place="Cellar", walk=3)
    changed = events(token)[first]
    assert (str(changed["LOCATION"]), changed["SEQUENCE"]) == ("Cellar", 2)
    assert changed["DTSTAMP"].dt >= moved["DTSTAMP"].dt
    skip(due=pk, by=a_maker(), at=MORNING + 3 * HOUR)
    gone = events(token)[first]
    assert (gone["STATUS"], gone["SEQUENCE"]) == ("CANCELLED", 3)
    undo(due=pk, by=a_maker(), at=MORNING + 4 * HOUR)
    back = events(token)[first]
    assert (back["STATUS"], back["SEQUENCE"]) == ("CONFIRMED", 4)


def test_what_is_no_longer_wanted_is_cancelled_in_place() -> None:
    a_series()
    a_series("press", Window(7, 14, 21), act="press", title="Press TT-12")
    token = a_feed(a_maker())
    before = events(token)
    assert len(before) == 17
    assert any(str(event["SUMMARY"]) == "Press TT-12 (last day)" for event in before.values())
    mark_done(key="press", by=a_maker(), at=NOON + 8 * DAY)
    close_series(key=SHAKE, at=NOON + 8 * DAY)
    after = events(token)
    assert after.keys() == before.keys()
    # Opened on the 9th, pressed on the 10th: the best day and the last day are off, and every shake to come.
    off = {uid for uid, event in after.items() if event["STATUS"] == "CANCELLED"}
    assert {at(after[uid]) for uid in off} >= {NOON + 14 * DAY - 270 * MINUTE, NOON + 21 * DAY - 270 * MINUTE}
    assert all(after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"] for uid in off)


def test_another_rule_cancels_the_slots_it_no_longer_has() -> None:
    a_series()
    token = a_feed(a_maker())
    before = events(token)
    facts = {"act": "shake", "title": "Shake turkey tail TT-12", "place": "Top shelf", "starts_at": NOON}
    open_series(key=SHAKE, rule={"kind": "daily", "every": 2, "from_day": 1}, at=NOON, **facts)
    after = events(token)
    assert after.keys() == before.keys()
    assert sum(event["STATUS"] == "CANCELLED" for event in after.values()) == 7


def test_the_clock_change_stands_in_utc() -> None:
    """London, 29 March 2026: 07:30 is 07:30 UTC before and 06:30 UTC after (tz database)."""
    start = datetime(2026, 3, 27, 12, tzinfo=UTC)
    a_series(starts_at=start, at=start)
    hours = {
        at(event).date().day: (at(event).hour, at(event).minute)
        for event in events(a_feed(a_maker())).values()
    }
    assert (hours[28], hours[29]) == ((7, 30), (6, 30))


def test_only_what_the_person_asked_to_hear_of_and_no_watched_pot() -> None:
    a_series()
    a_series("press", Window(7, 14, 21), act="press", title="Press", place="Cellar")
    a_series("pot", Every(30), act="watch", title="Pot")
    token = a_feed(a_maker())
    assert not any("Pot" in str(event["SUMMARY"]) for event in events(token).values())
    Reach.objects.create(person=a_maker(), places=["Cellar"])
    assert {str(event["LOCATION"]) for event in events(token).values()} == {"Cellar"}


def test_no_customer_no_person_and_no_address_of_ours_is_in_it() -> None:
    departure = builders_trace.a_dispatch(builders_trace.a_double_extraction())
    a_series()
    text = fetch(a_feed(a_maker())).content.decode()
    assert "VEVENT" in text
    assert departure.customer.name not in text
    assert not any(word in text for word in ("http", "ORGANIZER", "ATTENDEE", "Linnet", "Rowan", "/batches/"))


def test_an_unchanged_calendar_is_not_sent_twice() -> None:
    a_series()
    token = a_feed(a_maker())
    first = fetch(token)
    again = fetch(token, if_none_match=first["ETag"])
    assert (again.status_code, again.content) == (304, b"")
    assert fetch(token).content == first.content
    skip(due=due_now(at=MORNING)[0].pk, by=a_maker(), at=MORNING)
    changed = fetch(token, if_none_match=first["ETag"])
    assert changed.status_code == 200
    assert changed["ETag"] != first["ETag"]


def test_the_person_renews_and_ends_it_and_one_switched_off_has_none() -> None:
    hand = Client()
    hand.force_login(a_maker())
    key = {"once_key": "k" * 32}
    monday = hand.post(reverse("reminders:feed-renew"), key).content.decode()
    old = monday.partition("/calendar/")[2].partition(".ics")[0]
    assert len(old) >= 22, "128 bits are 22 signs of base64"
    assert fetch(old).status_code == 200
    new = hand.post(reverse("reminders:feed-renew"), {"once_key": "l" * 32}).content.decode()
    token = new.partition("/calendar/")[2].partition(".ics")[0]
    assert fetch(old).status_code == 404
    assert fetch(token).status_code == 200
    assert token not in hand.get(reverse("reminders:mine")).content.decode()
    Person.objects.filter(login="linnet").update(is_active=False)
    assert fetch(token).status_code == 404
    Person.objects.filter(login="linnet").update(is_active=True)
    hand.force_login(a_maker())
    assert hand.post(reverse("reminders:feed-end"), {"once_key": "m" * 32}).status_code == 302
    assert fetch(token).status_code == 404


def test_guessing_is_slowed_and_no_key_gets_into_the_log(caplog: pytest.LogCaptureFixture) -> None:
    token = a_feed(an_owner())
    with caplog.at_level(logging.INFO):
        answers = [fetch(f"guess{n:017d}").status_code for n in range(25)]
        assert answers == [404] * 20 + [429] * 5
        assert fetch(token).status_code == 200, "a right address is no guess, whoever guesses beside it"
    assert "guess" not in caplog.text
    assert token not in caplog.text
    assert Throttle.objects.get().misses == 20

"""Clocks that jump, stick or change, a broker that was away: each reminder once, none ahead of its time.

Local times are expected as zoneinfo shows them at every UTC minute (tests/workshop/test_reminders_slots.py);
here they go the whole way: into the rows, the message that falls due, and the calendar.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import a_feed, a_series, a_service
from tests.workshop.test_reminders_slots import ZONES, changes, expected, shown
from workshop import clock, tasks
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders import feed, services, steady
from workshop.reminders.models import Due, Message
from workshop.reminders.queries import due_now
from workshop.reminders.rules import After, Daily
from workshop.reminders.series import close_series
from workshop.reminders.settle import mark_done
from workshop.reminders.sweep import sweep

pytestmark = pytest.mark.django_db
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
OPENS = NOON + DAY - timedelta(hours=4, minutes=30)  # Tuesday 3 March 2026, 07:30 in London


class Machine:
    """A wall clock and an uptime, each moved by hand; the worker rings each minute of uptime."""

    def __init__(self, at: datetime) -> None:
        self.wall, self.up = at, 1000.0

    def now(self) -> datetime:
        return self.wall

    def run(self, minutes: int, *, stuck: bool = False, every: int = 1) -> None:
        """So many minutes pass; of a long time it is enough to ring now and then."""
        for _ in range(0, minutes, every):
            self.up += 60 * every
            if not stuck:
                self.wall += every * MINUTE
            tasks.sweep()


@pytest.fixture
def post(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    a_workshop()
    taken: list[str] = []
    monkeypatch.setattr(services, "send", lambda **what: taken.append(what["body"]))
    Person.objects.filter(pk=an_owner().pk).update(wants_digest=False)
    yield taken


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch, post: list[str]) -> Machine:
    made = Machine(OPENS - 30 * MINUTE)
    monkeypatch.setattr(clock, "now", made.now)
    monkeypatch.setattr(steady, "uptime", lambda: made.up)
    monkeypatch.setattr(tasks, "STEADY", steady.Steady())
    return made


def test_a_clock_26_hours_ahead_for_ten_minutes_writes_nothing_ahead_and_nothing_twice(
    machine: Machine, post: list[str]
) -> None:
    a_service(an_owner())
    a_service(an_owner(), when="morning")
    a_series()
    machine.run(40)
    assert len(post) == 2  # the list, and the shake as it fell due
    machine.wall += 26 * HOUR
    machine.run(10)
    assert len(post) == 2, "tomorrow's list and tomorrow's shake are tomorrow's"
    machine.wall -= 26 * HOUR
    machine.run(60, every=5)
    assert len(post) == 2
    mark_done(key="stage:12:shake", by=a_maker(), at=machine.wall)
    machine.run(24 * 60, every=15)
    assert len(post) == 4
    days = Message.objects.values_list("day", "via", "kind")
    assert len(days) == len(set(days))


def test_a_clock_two_hours_back_or_stuck_for_one_repeats_nothing(machine: Machine, post: list[str]) -> None:
    a_service(an_owner())
    a_series()
    machine.run(40)
    assert len(post) == 1
    machine.wall -= 2 * HOUR
    machine.run(180, every=5)
    machine.run(60, stuck=True, every=5)
    machine.wall += HOUR
    machine.run(60, every=5)
    assert len(post) == 1
    machine.run(24 * 60, every=15)
    assert len(post) == 2


def test_a_clock_that_stays_where_it_jumped_to_is_believed_after_half_an_hour(
    machine: Machine, post: list[str]
) -> None:
    a_service(an_owner())
    a_series()
    machine.run(1)
    machine.wall += 26 * HOUR  # the machine's clock was wrong until the network put it right
    machine.run(29)
    assert post == []
    machine.run(2)
    assert len(post) == 1


def test_a_night_asleep_is_no_jump(machine: Machine, post: list[str]) -> None:
    """The uptime counts sleep (CLOCK_BOOTTIME): a tablet that was shut comes back and tells at once."""
    a_service(an_owner())
    a_series()
    machine.run(1)
    machine.wall += 20 * HOUR
    machine.up += 20 * 3600
    machine.run(1)
    assert len(post) == 1


@pytest.mark.parametrize("name", ZONES)
def test_through_every_clock_change_a_daily_reminder_comes_once_a_local_day_at_its_local_time(
    name: str, post: list[str]
) -> None:
    """One row, one message and one event each local day, at the moment that zoneinfo gives."""
    zone = ZoneInfo(name)
    a_service(an_owner())
    token = a_feed(an_owner())
    for change in changes(zone):
        Workshop.objects.update(zone=name)
        start, key = change - 2 * DAY, f"jar:{change:%Y%m%d}"
        at = change.astimezone(zone).time().replace(second=0, microsecond=0)
        a_series(key, Daily(at=at, from_day=1), starts_at=start, at=start)
        seen = shown(zone, start - DAY, change + 4 * DAY)
        days = [change.astimezone(zone).date() + n * DAY for n in (-1, 0, 1)]
        wanted = [expected(seen, day, at) for day in days]
        rows = Due.objects.filter(series__key=key, day__in=days).order_by("day")
        assert list(rows.values_list("slot", flat=True)) == wanted
        told = []
        for moment in wanted:
            before = len(post)
            sweep(at=moment - MINUTE)
            assert len(post) == before, "not a minute early"
            told += [sweep(at=moment + n * 10 * MINUTE).sent for n in range(3)]
            mark_done(key=key, by=an_owner(), at=moment + 25 * MINUTE)
        assert told == [1, 0, 0] * 3
        person = feed.whose(token=token)
        assert person is not None
        document = icalendar.Calendar.from_ical(feed.calendar_of(person=person, at=change))
        events = [
            event for event in document.walk("VEVENT") if event["UID"].startswith(f"{rows[0].series_id}-")
        ]
        moments = {event["DTSTART"].dt for event in events}
        assert set(wanted) <= moments
        assert all(moment.tzinfo is not None and moment.utcoffset() == timedelta(0) for moment in moments)
        close_series(key=key, at=change + 3 * DAY)


@pytest.mark.parametrize("name", ZONES)
def test_elapsed_hours_are_hours_that_passed_through_every_clock_change(name: str, post: list[str]) -> None:
    zone = ZoneInfo(name)
    Workshop.objects.update(zone=name)
    for change in changes(zone):
        start = change - 12 * HOUR
        a_series(f"warm:{change:%Y%m%d}", After(24), starts_at=start, at=start)
        row = Due.objects.get(series__key=f"warm:{change:%Y%m%d}")
        assert row.slot == start + 24 * HOUR
        local = row.slot.astimezone(zone).replace(tzinfo=None) - start.astimezone(zone).replace(tzinfo=None)
        assert local != 24 * HOUR, "the clock on the wall shows another distance"


@pytest.mark.parametrize("name", ZONES)
def test_a_broker_away_for_a_day_across_the_change_is_caught_up_once_and_marked_late(
    name: str, machine: Machine, post: list[str]
) -> None:
    zone = ZoneInfo(name)
    Workshop.objects.update(zone=name, opens_at=time(7, 30))
    change = changes(zone)[0]
    a_service(an_owner())
    for number in range(40):
        a_series(
            f"s{number}", After(6), title=f"Decant {number}", starts_at=change - 11 * HOUR, at=change - DAY
        )
    machine.wall = change - 6 * HOUR
    machine.run(1)
    assert post == []
    # For 24 hours nothing rings; the board needs no bell.
    machine.wall += DAY
    machine.up += DAY.total_seconds()
    assert len(due_now(at=machine.wall)) == 40
    machine.run(60, every=5)
    assert len(post) == 1
    late = change - 5 * HOUR
    word = f"late, was due {late.astimezone(zone):%a} {late.astimezone(zone).day}"
    assert all(post[0].count(f"Decant {number} ({word}") == 1 for number in range(40))
    assert Due.objects.count() == 40
    assert Message.objects.filter(kind="due").count() == 1


def test_the_year_s_changes_are_those_of_2026_and_2027() -> None:
    every = [change for name in ZONES for change in changes(ZoneInfo(name))]
    assert len(every) == 16
    assert {change.year for change in every} == {2026, 2027}
    assert all(change.tzinfo is UTC for change in every)


def test_what_is_told_never_changes_by_being_told_twice(post: list[str], settings: Any) -> None:
    a_service(an_owner())
    a_series()
    sweep(at=OPENS)
    first = Message.objects.get()
    Message.objects.update(sent_at=None, claimed_at=OPENS - HOUR)
    sweep(at=OPENS + HOUR)
    assert post[0] == post[1]
    assert Message.objects.get().message_id == first.message_id

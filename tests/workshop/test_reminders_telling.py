"""What fell due is told once by each way; quiet hours, closed days, filters, and what nobody answered."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import time, timedelta
from typing import Any

import pytest
from django.core import mail
from django.db import IntegrityError, connection, transaction

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import SHAKE, a_series
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders import services
from workshop.reminders import sweep as sweeping
from workshop.reminders.models import Channel, HouseRules, Message, Reach, Told
from workshop.reminders.queries import due_now
from workshop.reminders.rules import After, Every, Once
from workshop.reminders.seal import seal
from workshop.reminders.series import move_place
from workshop.reminders.settle import mark_done, snooze
from workshop.reminders.sweep import sweep

pytestmark = pytest.mark.django_db(transaction=True)

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
OPENS = NOON + DAY - timedelta(hours=4, minutes=30)  # Tuesday 3 March 2026, 07:30 in London
ADDRESS = "ntfys://push.owlpenny.example/rowans-own-topic"


class Killed(BaseException):
    """Stands for kill -9: nothing in the house catches it."""


class Post:
    """What the services took, in the place of a service."""

    def __init__(self) -> None:
        self.taken: list[tuple[str, str]] = []
        self.down = False

    def send(self, *, address: str, title: str, body: str) -> None:
        assert address == ADDRESS
        if self.down:
            raise services.NotDelivered("429 too many")
        self.taken.append((title, body))

    @property
    def titles(self) -> list[str]:
        return [title for title, _ in self.taken]


@pytest.fixture
def post(monkeypatch: pytest.MonkeyPatch, settings: Any) -> Iterator[Post]:
    settings.EMAIL_HOST = "mail.example"
    a_workshop()
    Person.objects.filter(pk=an_owner().pk).update(wants_digest=False)
    post = Post()
    monkeypatch.setattr(services, "send", post.send)
    yield post


def a_channel(person: Person | None = None, when: str = "due") -> Channel:
    return Channel.objects.create(
        person=person or an_owner(),
        name="My phone",
        service="ntfy",
        sealed=seal(ADDRESS),
        when=when,
        added_at=NOON,
    )


def settle_reach(**changes: Any) -> None:
    Reach.objects.update_or_create(person=an_owner(), defaults=changes)


def test_thirty_things_due_at_once_are_one_message(post: Post) -> None:
    a_channel()
    for number in range(30):
        a_series(f"stage:{number}:shake", title=f"Shake {number}")
    assert sweep(at=OPENS - MINUTE).made == 0
    assert sweep(at=OPENS).sent == 1
    assert post.titles == ["Owlpenny Herbs: 30 things due now"]
    assert all(post.taken[0][1].count(f"- Shake {n} (07:30)") == 1 for n in range(30))
    assert all(sweep(at=OPENS + n * MINUTE).made == 0 for n in range(1, 60))
    assert Told.objects.count() == 30


def test_what_falls_due_minutes_later_waits_for_the_next_message_but_a_pot_does_not(post: Post) -> None:
    a_channel()
    a_series()
    for n in (1, 3, 6):
        a_series(f"s{n}", Once(OPENS + n * MINUTE), title=f"Strain {n}", act="strain")
    a_series("pot", Every(30), act="watch", title="Read the pot", starts_at=OPENS + 50 * MINUTE)
    made = [n for n in range(90) if sweep(at=OPENS + n * MINUTE).made]
    assert made == [0, 10, 80]
    assert post.taken[1][1].count("- Strain") == 3
    assert "Read the pot" in post.taken[2][1]


def test_each_way_tells_by_its_own_choice(post: Post) -> None:
    a_channel(when="morning")
    Person.objects.filter(login="rowan").update(wants_digest=True, email="rowan@owlpenny.example")
    settle_reach(mail_when="due")
    a_series("s", After(24), title="Strain", act="strain")
    sweep(at=OPENS)
    assert post.titles == ["Owlpenny Herbs: 1 thing to do"]
    assert mail.outbox == []
    sweep(at=NOON + DAY)
    assert [message.subject for message in mail.outbox] == ["Owlpenny Herbs: 1 thing due now"]
    assert len(post.taken) == 1


def test_put_off_is_told_again_when_its_time_comes(post: Post) -> None:
    a_channel()
    a_series()
    sweep(at=OPENS)
    snooze(due=due_now(at=OPENS)[0].pk, until=OPENS + 3 * HOUR, by=a_maker(), at=OPENS + MINUTE)
    assert [sweep(at=OPENS + MINUTE + n * HOUR).sent for n in range(5)] == [0, 0, 0, 1, 0]
    assert len(post.taken) == 2


def test_only_the_acts_and_places_that_the_person_named(post: Post) -> None:
    a_channel()
    a_series("a", title="Shake A", place="Top shelf")
    a_series("b", title="Shake B", place="Cellar")
    a_series("c", title="Press C", act="press", place="Cellar")
    settle_reach(acts=["shake"], places=["Cellar"])
    sweep(at=OPENS)
    assert post.titles == ["Owlpenny Herbs: 1 thing due now"]
    assert "Shake B" in post.taken[0][1]


def test_a_place_with_a_new_name_is_still_the_place_that_the_person_named(post: Post) -> None:
    a_channel()
    settle_reach(places=["Cellar"])
    a_series("b", title="Shake B", place="Cellar")
    move_place(was="Cellar", place="Vault", walk=2)
    assert Reach.objects.get().places == ["Vault"]
    sweep(at=OPENS)
    assert "Shake B" in post.taken[0][1]


def test_quiet_hours_hold_everything_back_and_then_say_it_once(post: Post) -> None:
    a_channel()
    settle_reach(quiet_from=time(20), quiet_to=time(9))
    a_series()
    a_series("s", Once(OPENS + HOUR), title="Strain", act="strain")
    made = [n for n in range(0, 180, 10) if sweep(at=OPENS + n * MINUTE).made]
    assert made == [90]  # 09:00
    assert post.titles == ["Owlpenny Herbs: 2 things due now"]


def test_a_message_that_could_not_leave_before_the_quiet_hours_waits_for_their_end(post: Post) -> None:
    a_channel()
    settle_reach(quiet_from=time(8), quiet_to=time(12))
    a_series()
    post.down = True
    assert sweep(at=OPENS).failed == 1
    post.down = False
    tried = [n for n in range(30, 300, 30) if sweep(at=OPENS + n * MINUTE).sent]
    assert tried == [270]


@pytest.mark.parametrize(
    ("on_closed", "told"), [("must", ["Move", "Pot"]), ("none", []), ("all", ["Move", "Pot", "Strain"])]
)
def test_a_closed_day_is_as_quiet_as_the_person_wants(post: Post, on_closed: str, told: list[str]) -> None:
    Workshop.objects.update(closed_weekdays=[1])  # 3 March 2026 is a Tuesday
    a_channel()
    settle_reach(on_closed=on_closed)
    a_series("s", Once(NOON + MINUTE), title="Strain", act="strain")
    a_series("m", Once(NOON + HOUR, must=True), title="Move", act="move")
    a_series("p", Every(30), title="Pot", act="watch", starts_at=OPENS - 30 * MINUTE)
    sweep(at=OPENS)
    body = "".join(body for _, body in post.taken)
    assert sorted(title for title in ("Move", "Pot", "Strain") if f"- {title}" in body) == told


def test_what_nobody_answered_goes_to_the_owner_once(post: Post) -> None:
    HouseRules.objects.create(owner_after=4)
    a_channel(when="morning")
    a_series()
    sweep(at=OPENS)
    made = [n for n in range(1, 24 * 60, 20) if sweep(at=OPENS + n * MINUTE).made]
    assert made == [241]
    assert post.titles[1] == "Owlpenny Herbs: 1 thing unanswered, for more than 4 hours"
    assert sweep(at=OPENS + DAY).made == 1  # the next morning's list
    # The next day's shake waits behind the first one: nothing new to say.
    assert [n for n in range(1, 24 * 60, 60) if sweep(at=OPENS + DAY + n * MINUTE).made] == []
    mark_done(key=SHAKE, by=a_maker(), at=OPENS + DAY + HOUR)
    sweep(at=OPENS + 2 * DAY)
    assert sweep(at=OPENS + 2 * DAY + 4 * HOUR).made == 1


def test_what_nobody_answered_waits_for_the_open_day(post: Post) -> None:
    Workshop.objects.update(closed_weekdays=[2])  # Wednesday 4 March 2026
    HouseRules.objects.create(owner_after=20)
    a_channel(when="morning")
    a_series()
    sweep(at=OPENS)
    made = [n for n in range(1, 60) if sweep(at=OPENS + n * HOUR).made]
    assert made == [41, 48]  # Thursday 00:30: still unanswered; 07:30: that day's list


def test_a_maker_is_not_told_what_others_left_undone(post: Post) -> None:
    HouseRules.objects.create(owner_after=1)
    a_channel(a_maker(), when="morning")
    a_series()
    sweep(at=OPENS + 2 * HOUR)
    assert [message.kind for message in Message.objects.all()].count("late") == 0


def test_the_demo_sends_nothing_and_shows_what_would_have_gone(post: Post) -> None:
    Workshop.objects.update(is_demo=True)
    a_channel()
    a_series()
    assert sweep(at=OPENS).made == 1
    assert (post.taken, mail.outbox) == ([], [])
    row = Message.objects.get()
    assert (row.to, row.sent_at) == ("", None)
    assert "Shake turkey tail TT-12" in row.body


def test_a_service_that_was_down_gets_one_message_with_everything(post: Post) -> None:
    a_channel()
    a_series()
    post.down = True
    sweep(at=OPENS)
    a_series("s", Once(OPENS + HOUR), title="Strain", act="strain")
    sweep(at=OPENS + HOUR)
    post.down = False
    for n in range(60, 300):
        sweep(at=OPENS + n * MINUTE)
    assert post.titles == ["Owlpenny Herbs: 2 things due now"]
    assert Message.objects.filter(dropped_at__isnull=False, error__contains="later message").count() == 1


def test_after_a_day_of_refusals_it_is_given_up_with_the_service_s_own_words(post: Post) -> None:
    a_channel()
    a_series()
    post.down = True
    for n in range(0, 40 * 60, 10):
        sweep(at=OPENS + n * MINUTE)
    first = Message.objects.order_by("pk").first()
    assert first is not None and first.dropped_at is not None
    assert "429 too many" in Message.objects.filter(kind="due").latest("pk").error


def killed(*_: object, **__: object) -> None:
    raise Killed


POINTS = ["claimed", "sent", "marked"]


@pytest.mark.parametrize("round_", range(3))
@pytest.mark.parametrize("point", POINTS)
def test_killed_between_claim_send_and_mark_it_arrives_and_shows_once(
    point: str, round_: int, post: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At least once delivered, once visible: a repeat carries the same mark, by which it is known."""
    a_channel()
    a_series()
    with monkeypatch.context() as patched:
        if point == "claimed":
            patched.setattr(sweeping, "send", killed)
        elif point == "sent":
            patched.setattr(sweeping, "mark_sent", killed)
        else:
            done = sweeping.mark_sent

            def mark_then_die(**facts: Any) -> None:
                done(**facts)
                raise Killed

            patched.setattr(sweeping, "mark_sent", mark_then_die)
        with pytest.raises(Killed):
            sweep(at=OPENS)
    for n in range(1, 40):
        sweep(at=OPENS + n * MINUTE)
    assert len(post.taken) == {"claimed": 1, "sent": 2, "marked": 1}[point]
    assert len(set(post.taken)) == 1, "a repeat is the same message to the letter"
    assert (Message.objects.count(), Told.objects.count()) == (1, 1)
    assert Message.objects.get().sent_at is not None


def test_killed_while_a_message_is_written_nothing_of_it_stands(
    post: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_channel()
    a_series()
    with monkeypatch.context() as patched:
        patched.setattr(Told.objects, "bulk_create", killed)
        with pytest.raises(Killed):
            sweep(at=OPENS)
    assert (Message.objects.count(), Told.objects.count()) == (0, 0)
    assert sweep(at=OPENS + MINUTE).sent == 1


def test_sweeps_at_once_tell_each_occurrence_once(post: Post) -> None:
    """Two beats, two schedulers, a double deploy: four threads against the real database."""
    people = [
        Person.objects.create_person(login=f"hand{n}", name="H", role="maker", password="x" * 15)
        for n in range(12)
    ]
    for person in people:
        a_channel(person)
    Person.objects.update(wants_digest=False)
    for number in range(5):
        a_series(f"stage:{number}:shake")
    gate, found = threading.Barrier(4), []

    def one() -> None:
        gate.wait()
        try:
            found.extend(sweep(at=OPENS + n * MINUTE) for n in range(3))
        finally:
            connection.close()

    threads = [threading.Thread(target=one) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 12
    assert Message.objects.count() == len(post.taken) == 12
    assert Told.objects.count() == 60
    assert sum(swept.failed for swept in found) == 0


def test_the_database_itself_lets_an_occurrence_be_told_once(post: Post) -> None:
    a_channel()
    a_series()
    sweep(at=OPENS)
    row = Told.objects.get()
    row.pk = None
    with pytest.raises(IntegrityError, match="told_once_by_each_way"), transaction.atomic():
        row.save(force_insert=True)


def test_a_day_without_the_broker_is_told_once_and_marked_late(post: Post) -> None:
    a_channel()
    for number in range(40):
        a_series(f"stage:{number}:settle", After(20), title=f"Decant {number}", act="settle")
    back = OPENS + DAY
    assert len(due_now(at=back)) == 40
    assert sum(sweep(at=back + n * MINUTE).sent for n in range(60)) == 1
    title, body = post.taken[0]
    assert title == "Owlpenny Herbs: 40 things due now, 40 late"
    assert all(body.count(f"Decant {n} (late, was due Tue 3 March)") == 1 for n in range(40))

"""Series, as batches would open them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from tests.builders import NOON
from workshop.people.models import Person
from workshop.reminders import settling
from workshop.reminders.models import Channel, Closure, Due, Message, Series
from workshop.reminders.rules import Daily, Rule
from workshop.reminders.series import open_series

SHAKE = "stage:12:shake"


def a_series(key: str = SHAKE, rule: Rule | None = None, at: datetime = NOON, **changes: Any) -> Series:
    """Shake the turkey tail daily at 07:30 from tomorrow on, on the top shelf, unless told otherwise."""
    facts: dict[str, Any] = {
        "act": "shake",
        "title": "Shake turkey tail TT-12",
        "place": "Top shelf",
        "url": "/batches/12/",
        "starts_at": at,
    }
    open_series(key=key, rule=rule or Daily(from_day=1), at=at, **(facts | changes))
    return Series.objects.get(key=key)


def states(key: str = SHAKE) -> list[str]:
    """The states of a series' rows, oldest slot first."""
    return list(Due.objects.filter(series__key=key).order_by("slot").values_list("state", flat=True))


ADDRESS = "ntfys://push.owlpenny.example/the-owner-s-own-topic"


def a_service(person: Person, address: str = ADDRESS, when: str = "due", at: datetime = NOON) -> Channel:
    """A telephone that a service reaches."""
    return settling.add_channel(name="My phone", service_address=address, when=when, by=person, at=at)


def a_failed_message(person: Person, at: datetime = NOON) -> Message:
    """A test that the service has refused."""
    message = settling.test_channel(channel=a_service(person, at=at).pk, by=person, at=at)
    Message.objects.filter(pk=message.pk).update(error="401 unauthorised", attempts=1)
    return message


def a_closure(person: Person) -> Closure:
    """Closed between the years."""
    days = {"first": date(2030, 12, 24), "last": date(2031, 1, 1)}
    return settling.close_days(**days, why="Between the years", by=person, at=NOON)


def a_feed(person: Person, at: datetime = NOON) -> str:
    """The token of somebody's calendar."""
    return settling.renew_feed(by=person, at=at)

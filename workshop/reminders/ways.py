"""The ways by which a person is reached, and what of the list is theirs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from django.conf import settings

from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders.models import Channel, Reach
from workshop.reminders.queries import DueItem
from workshop.reminders.slots import Calendar

MAIL = "mail"


@dataclass(frozen=True, slots=True)
class Way:
    """One person by mail or by one service. Without `to`, nothing leaves: it is shown on the screen only."""

    person: Person
    reach: Reach
    name: str
    when: str
    to: str
    channel: Channel | None = None


def ways(workshop: Workshop) -> list[Way]:
    """Every way to everybody at work; nobody is written to from a demo."""
    people = list(Person.objects.filter(is_active=True).order_by("pk"))
    settled = Reach.objects.in_bulk([person.pk for person in people])
    channels: dict[int, list[Channel]] = {}
    for channel in Channel.objects.filter(removed_at=None):
        channels.setdefault(channel.person_id, []).append(channel)
    found = []
    for person in people:
        reach = settled.get(person.pk) or Reach(person=person)
        if person.wants_digest:
            found.append(Way(person, reach, MAIL, reach.mail_when, _address(workshop, person)))
        for channel in channels.get(person.pk, []):
            to = "" if workshop.is_demo else str(channel)
            found.append(Way(person, reach, channel.via, channel.when, to, channel))
    return found


def _address(workshop: Workshop, person: Person) -> str:
    """Nobody is written to from a demo, or without a mail server: the digest is shown on the screen."""
    return person.email if settings.EMAIL_HOST and not workshop.is_demo else ""


def theirs(reach: Reach, items: Iterable[DueItem], at: datetime, calendar: Calendar) -> list[DueItem]:
    """Of what is due, what this person wants to hear of on this day."""
    return today(reach, [item for item in items if _wants(reach, item)], at, calendar)


def today(reach: Reach, items: list[DueItem], at: datetime, calendar: Calendar) -> list[DueItem]:
    """What is left of a list on a closed day, as the person wants it."""
    if calendar.today(at) not in calendar.closed or reach.on_closed == Reach.Closed.ALL:
        return items
    if reach.on_closed == Reach.Closed.NONE:
        return []
    return [item for item in items if item.must or item.watch]


def _wants(reach: Reach, item: DueItem) -> bool:
    act, place = not reach.acts or item.act in reach.acts, not reach.places or item.place in reach.places
    return act and place


def is_quiet(reach: Reach, at: datetime, zone: ZoneInfo) -> bool:
    """Whether `at` lies in the person's quiet hours, by the workshop's own clock on the wall."""
    return within(at.astimezone(zone).time(), reach.quiet_from, reach.quiet_to)


def within(now: time, start: time | None, end: time | None) -> bool:
    """Whether a time of day lies from `start` to before `end`; 22:00 to 06:00 goes over midnight."""
    if start is None or end is None or start == end:
        return False
    return start <= now < end if start < end else now >= start or now < end

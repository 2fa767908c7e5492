"""The morning's list: one a person, way and day, made from the board, with its Message-ID settled at once."""

from __future__ import annotations

from datetime import date, datetime

from workshop.calc.slots import midnight_after
from workshop.models import Workshop
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.models import Message
from workshop.reminders.models.reach import When
from workshop.reminders.queries import DueItem, due_by
from workshop.reminders.slots import Calendar
from workshop.reminders.ways import Way, is_quiet, theirs, ways
from workshop.reminders.words import letter, message_id, things

OVERTAKEN = "The digest of a later day says it all."


def make_digests(*, at: datetime) -> int:
    """Make today's digests, once the workshop has opened, for everyone who wants one. Returns how many.

    On a closed day only for what must be done. Of two sweeps at once each is made once: (person, day, way).
    """
    calendar = workshop_calendar()
    today = calendar.today(at)
    if at.astimezone(calendar.zone).time() < calendar.opens:
        return 0
    workshop = Workshop.objects.get()
    without = _without(workshop, today, at, calendar)
    items = due_by(until=midnight_after(today, calendar.zone), at=at) if without else []
    lists = [(way, theirs(way.reach, items, at, calendar)) for way in without]
    made = _make([pair for pair in lists if pair[1]], workshop, today, at, calendar)
    if made:
        _drop_overtaken(today, at)
    return made


def _without(workshop: Workshop, today: date, at: datetime, calendar: Calendar) -> list[Way]:
    morning = Message.objects.filter(day=today, kind=Message.Kind.MORNING)
    have = set(morning.values_list("person", "via"))
    wanting = [way for way in ways(workshop) if way.when == When.MORNING]
    free = [way for way in wanting if not is_quiet(way.reach, at, calendar.zone)]
    return [way for way in free if (way.person.pk, way.name) not in have]


def _make(
    lists: list[tuple[Way, list[DueItem]]], workshop: Workshop, today: date, at: datetime, calendar: Calendar
) -> int:
    morning = Message.objects.filter(day=today, kind=Message.Kind.MORNING)
    before, rows = morning.count(), []
    for way, items in lists:
        subject, body = letter(workshop, items, today, calendar, count=things(items, "to do"))
        rows.append(new_message(way, Message.Kind.MORNING, at, today, workshop, subject=subject, body=body))
    Message.objects.bulk_create(rows, ignore_conflicts=True)
    return morning.count() - before


def new_message(
    way: Way, kind: str, at: datetime, today: date, workshop: Workshop, *, subject: str, body: str
) -> Message:
    """A message by a way, not yet saved."""
    return Message(
        person=way.person,
        channel=way.channel,
        via=way.name,
        kind=kind,
        day=today,
        to=way.to,
        message_id=message_id(workshop, "digest" if kind == Message.Kind.MORNING else kind, today),
        subject=subject,
        body=body,
        made_at=at,
        try_at=at,
    )


def _drop_overtaken(today: date, at: datetime) -> None:
    """A digest that could not be sent for days would only repeat what today's says: one, not five."""
    morning = Message.objects.filter(kind=Message.Kind.MORNING)
    having = set(morning.filter(day=today).values_list("person", "via"))
    old = morning.filter(day__lt=today, sent_at=None, dropped_at=None).exclude(to="")
    gone = [pk for pk, *whose in old.values_list("pk", "person", "via") if tuple(whose) in having]
    morning.filter(pk__in=gone, sent_at=None).update(dropped_at=at, error=OVERTAKEN)

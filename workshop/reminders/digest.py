"""The day's digest: one per person and day, made from the board, with its Message-ID settled at once."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import date, datetime
from itertools import groupby
from urllib.parse import urlsplit

from django.conf import settings
from django.template.loader import render_to_string

from workshop.calc.slots import midnight_after
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.models import Mail
from workshop.reminders.queries import DueItem, due_by
from workshop.reminders.slots import Calendar

OVERTAKEN = "The digest of a later day says it all."


def make_digests(*, at: datetime) -> int:
    """Make today's digests, once the workshop has opened, for everyone who wants one. Returns how many.

    On a closed day only for what must be done. Two sweeps at once make each once: (person, day) is unique.
    """
    calendar = workshop_calendar()
    today = calendar.today(at)
    if at.astimezone(calendar.zone).time() < calendar.opens:
        return 0
    people = list(_without(today))
    items = _items(today, at, calendar) if people else []
    if not items:
        return 0
    made = _make(people, items, today, at, calendar)
    _drop_overtaken(today, at)
    return made


def _without(today: date) -> Iterable[Person]:
    have = Mail.objects.filter(day=today).values("person")
    return Person.objects.filter(is_active=True, wants_digest=True).exclude(pk__in=have).order_by("pk")


def _items(today: date, at: datetime, calendar: Calendar) -> list[DueItem]:
    items = due_by(until=midnight_after(today, calendar.zone), at=at)
    return [item for item in items if item.must] if today in calendar.closed else items


def _make(people: list[Person], items: list[DueItem], today: date, at: datetime, calendar: Calendar) -> int:
    workshop = Workshop.objects.get()
    subject, body = words(workshop, items, today, calendar)
    before = Mail.objects.filter(day=today).count()
    Mail.objects.bulk_create(
        [
            Mail(
                person=person,
                day=today,
                to=_address(workshop, person),
                message_id=_message_id(workshop, today),
                subject=subject,
                body=body,
                made_at=at,
                try_at=at,
            )
            for person in people
        ],
        ignore_conflicts=True,
    )
    return Mail.objects.filter(day=today).count() - before


def words(workshop: Workshop, items: list[DueItem], today: date, calendar: Calendar) -> tuple[str, str]:
    """Subject and body of the digest."""
    late = sum(item.late for item in items)
    count = f"{len(items)} thing{'' if len(items) == 1 else 's'} to do" + (f", {late} late" if late else "")
    ordered = sorted(items, key=lambda item: (item.place, item.act, item.due_at))
    places = [(place, list(those)) for place, those in groupby(ordered, key=lambda item: item.place)]
    context = {"workshop": workshop, "places": places, "today": today, "zone": calendar.zone, "count": count}
    # A line break in a subject would be a second header.
    subject = " ".join(f"{workshop.name}: {count}".split())
    return subject[:200], render_to_string("mail/digest.txt", context)


def _address(workshop: Workshop, person: Person) -> str:
    """Nobody is written to from a demo, or without a mail server: the digest is shown on the screen."""
    return person.email if settings.EMAIL_HOST and not workshop.is_demo else ""


def _message_id(workshop: Workshop, today: date) -> str:
    host = urlsplit(workshop.public_address).hostname or settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
    return f"<digest.{today:%Y%m%d}.{secrets.token_hex(12)}@{host.strip('> ')}>"


def _drop_overtaken(today: date, at: datetime) -> None:
    """A digest that could not be sent for days would only repeat what today's says: one, not five."""
    having = Mail.objects.filter(day=today).values("person")
    old = Mail.objects.filter(day__lt=today, person__in=having, sent_at=None, dropped_at=None)
    old.exclude(to="").update(dropped_at=at, error=OVERTAKEN)

"""A person's private calendar (RFC 5545): one event a slot, its name stable, its revisions counted.

No address of ours and no party stands in it: the link may lie in a calendar service elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from icalendar import Calendar as Document
from icalendar import Event

from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders.models import Due, Feed, HouseRules, Reach
from workshop.reminders.settling import digest_of
from workshop.reminders.templatetags.reminders import WINDOW

BACK, AHEAD = timedelta(days=14), timedelta(days=120)
LASTS = timedelta(minutes=15)
CANCELLED = frozenset({Due.State.DROPPED, Due.State.SKIPPED})


def whose(*, token: str) -> Person | None:
    """The person at work whose calendar this is."""
    row = Feed.objects.filter(digest=digest_of(token), person__is_active=True).select_related("person")
    feed = row.first()
    return feed.person if feed else None


def calendar_of(*, person: Person, at: datetime) -> bytes:
    """The calendar as a document: what was due in the last two weeks and comes in the next months.

    What is no longer wanted stays for that time as cancelled, so that it goes from calendars that hold it. A
    pot watched every half hour is the board's, and not in it.
    """
    workshop, mark = Workshop.objects.get(), HouseRules.objects.values_list("mark", flat=True).first() or ""
    document = Document()
    document.add("prodid", "-//Colature//Reminders//EN")
    document.add("version", "2.0")
    document.add("calscale", "GREGORIAN")
    document.add("x-wr-calname", workshop.name)
    document.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})  # RFC 7986, 5.7
    for row in _rows(person, at):
        document.add_component(_event(row, mark))
    return bytes(document.to_ical())


def _rows(person: Person, at: datetime) -> Iterable[Due]:
    rows = Due.objects.filter(day__isnull=False, slot__gte=at - BACK, slot__lte=at + AHEAD)
    reach = Reach.objects.filter(pk=person.pk).first() or Reach(person=person)
    if reach.acts:
        rows = rows.filter(series__act__in=reach.acts)
    if reach.places:
        rows = rows.filter(series__place__in=reach.places)
    return rows.select_related("series").order_by("slot", "pk")


def _event(row: Due, mark: str) -> Event:
    """DTSTAMP says when it was last revised, as RFC 5545 3.8.7.2 has it for a calendar without a method."""
    event, series = Event(), row.series
    said = f" ({WINDOW[row.kind]})" if row.kind in WINDOW else ""
    revised = max(row.changed_at, series.changed_at).astimezone(UTC).replace(microsecond=0)
    event.add("uid", f"{series.pk}-{row.slot.astimezone(UTC):%Y%m%dT%H%M%SZ}@{mark}.colature")
    event.add("dtstamp", revised)
    event.add("last-modified", revised)
    event.add("sequence", row.sequence + series.sequence)
    event.add("dtstart", row.due_at.astimezone(UTC))
    event.add("dtend", row.due_at.astimezone(UTC) + LASTS)
    event.add("summary", f"{series.title}{said}")
    if series.place:
        event.add("location", series.place)
    event.add("status", "CANCELLED" if row.state in CANCELLED else "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    return event

"""The workshop's calendar, read from its settings."""

from __future__ import annotations

from workshop.calc.slots import Closed
from workshop.models import Workshop
from workshop.reminders.slots import Calendar


def workshop_calendar() -> Calendar:
    """The zone, opening time and closed weekdays that the owner settled."""
    workshop = Workshop.objects.get()
    return Calendar(workshop.tz, workshop.opens_at, Closed(frozenset(workshop.closed_weekdays)))


def fingerprint(calendar: Calendar) -> str:
    """What slots depend on, as text: a series planned for another calendar is planned again."""
    weekdays = "".join(str(day) for day in sorted(calendar.closed.weekdays))
    return f"{calendar.zone.key} {calendar.opens:%H:%M} {weekdays}"

"""The workshop's calendar, read from its settings."""

from __future__ import annotations

import hashlib

from workshop.calc.slots import Closed
from workshop.models import Workshop
from workshop.reminders.closed import Dates
from workshop.reminders.models import Closure, HouseRules
from workshop.reminders.slots import Calendar


def workshop_calendar() -> Calendar:
    """The zone, opening time, closed weekdays, public holidays and closures that the owner settled."""
    workshop = Workshop.objects.get()
    closed = Closed(frozenset(workshop.closed_weekdays), closed_dates())
    return Calendar(workshop.tz, workshop.opens_at, closed)


def closed_dates() -> Dates:
    rules = HouseRules.objects.first() or HouseRules()
    spans = tuple(Closure.objects.values_list("first", "last"))
    return Dates(rules.country, rules.region, spans)


def fingerprint(calendar: Calendar) -> str:
    """What slots depend on, as text: a series planned for another calendar is planned again."""
    weekdays = "".join(str(day) for day in sorted(calendar.closed.weekdays))
    dates = hashlib.sha256(repr(calendar.closed.dates).encode()).hexdigest()[:8]
    return f"{calendar.zone.key} {calendar.opens:%H:%M} {weekdays} {dates}"

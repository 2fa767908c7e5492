"""A jar is planned for another day of its press window; how many the workshop presses in a day."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from batches.queries.pressing import moment_of
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders import settle
from workshop.reminders.ahead import windows
from workshop.reminders.calendar import workshop_calendar


@transaction.atomic
def move_pressing(*, due: int, day: date, by: Person, at: datetime, reason: str = "") -> str:
    """Press it on `day` (the workshop's own); its window stays. Returns the title of what was moved.

    Raises `Refused` outside of the window, on a closed day, and when it waits no more.
    """
    window = next((one for one in windows(act="press", at=at) if one.due == due), None)
    if window is None:
        raise Refused("This jar does not wait for the press any more. Look at the days again.")
    calendar = workshop_calendar()
    if day < window.opens or (window.closes is not None and day > window.closes):
        end = f" to {_said(window.closes)}" if window.closes else " on"
        raise Refused(
            f"New day: its press window runs from {_said(window.opens)}{end}. Choose a day inside it.",
            field="day",
        )
    if day in calendar.closed:
        raise Refused(f"New day: the workshop is closed on {_said(day)}. Choose another one.", field="day")
    until = moment_of(day, calendar)
    if until <= at:
        raise Refused("New day: its morning is over. Choose a day from tomorrow on.", field="day")
    settle.snooze(due=due, until=until, by=by, at=at, reason=reason)
    return window.title


@transaction.atomic
def press_so_many(*, number: int, by: Person, at: datetime) -> int:
    """So many jars are pressed in a day; 0 takes it back."""
    Workshop.objects.update(press_per_day=number)
    return number


def _said(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"

"""When a jar is to be pressed: the one source of it, and the one way in which it is said.

The days are those of its reminders: counted on the workshop's calendar, moved around closed days, and with
the day for which somebody has planned it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from batches.calc.schedule import day_number
from batches.models import Stage
from batches.queries.jar import Jar
from workshop.calc.rounding import NBSP
from workshop.reminders.ahead import WindowOf, windows


def press_days(*, at: datetime) -> Mapping[str, WindowOf]:
    """The window of every jar that waits for the press, by its series; one query."""
    return {window.key: window for window in windows(act="press", at=at)}


def press_of(stage: Stage, *, at: datetime) -> WindowOf | None:
    """The window of one jar; None while nothing asks for its pressing."""
    return press_days(at=at).get(stage.series_key("press"))


def day_of(jar: Jar, at: datetime, zone: ZoneInfo) -> int:
    """Days since charging on the workshop's calendar, as its press window is counted."""
    return day_number(jar.charged_at, at, zone)


def press_told(window: WindowOf, *, at: datetime, zone: ZoneInfo) -> str:
    """ "on 14 Dec (from 30 Nov, last day 28 Dec)", "on 1 Dec (may be done now, last day 15 Dec)",
    "today (the last day)", "now (last day 15 Dec)", "now (the last day was 15 Dec)"."""
    today, planned = at.astimezone(zone).date(), window.due_at.astimezone(zone).date()
    said = []
    if planned > today:
        said.append(f"from {short(window.opens)}" if window.opens > today else "may be done now")
    if window.closes is not None:
        said.append(_end(window.closes, today))
    when = f"on {short(planned)}" if planned > today else "today" if planned == today else "now"
    return f"{when} ({', '.join(said)})" if said else when


def _end(closes: date, today: date) -> str:
    if closes == today:
        return "the last day"
    return f"the last day was {short(closes)}" if closes < today else f"last day {short(closes)}"


def short(day: datetime | date) -> str:
    """ "5 Dec" """
    return f"{day.day}{NBSP}{day:%b}"

"""Which jars are pressed on which day, how many fit, and on which other days each could be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from batches.models import Stage
from batches.queries.rounds import stage_id, tags_of
from batches.queries.shelf_words import day_words
from workshop.calc.slots import slot_utc
from workshop.reminders.ahead import WindowOf, windows
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.slots import Calendar

AHEAD_DAYS = 21
MOST_CHOICES = 28


@dataclass(frozen=True, slots=True)
class Planned:
    """A jar with its window of days and the day for which it is planned."""

    window: WindowOf
    name: str
    tags: str
    day: date


@dataclass(frozen=True, slots=True)
class PressDay:
    """A day with its jars. `over` says how many more they are than fit, 0 where nobody said how many do."""

    day: date
    words: str
    jars: Sequence[Planned]
    over: int


@dataclass(frozen=True, slots=True)
class Choice:
    """Another day for a jar, and how many are planned for it already."""

    day: date
    planned: int
    full: bool


@dataclass(frozen=True, slots=True)
class Pressing:
    """The days to come, jars planned for later days, and the choices of the jar in hand."""

    days: Sequence[PressDay]
    later: int
    hand: Planned | None
    choices: Sequence[Choice]


def pressing(*, at: datetime, zone: ZoneInfo, per_day: int, due: int | None = None) -> Pressing:
    """Every jar that waits for the press, by its day; `due` names the one in hand."""
    today = at.astimezone(zone).date()
    jars = _planned(windows(act="press", at=at), today, zone)
    load = Counter(jar.day for jar in jars)
    end = today + timedelta(days=AHEAD_DAYS)
    days = [_day(day, jars, at, zone, per_day) for day in sorted(load) if day <= end]
    hand = next((jar for jar in jars if jar.window.due == due), None)
    choices = _choices(hand, load, today, per_day, workshop_calendar()) if hand else ()
    return Pressing(days, sum(number for day, number in load.items() if day > end), hand, choices)


def moment_of(day: date, calendar: Calendar) -> datetime:
    """When the workshop opens on that day, in UTC."""
    return slot_utc(day, calendar.opens, calendar.zone)


def _planned(found: Sequence[WindowOf], today: date, zone: ZoneInfo) -> list[Planned]:
    """What was planned for a day gone by is for today."""
    ids = {window.key: stage_id(window.key) for window in found}
    stages: Mapping[int, Stage] = Stage.objects.select_related("batch").in_bulk(
        [pk for pk in ids.values() if pk is not None]
    )
    tags = tags_of(stages)
    jars = []
    for window in found:
        stage = stages.get(ids[window.key] or 0)
        name = stage.batch.title if stage else window.title
        day = max(window.due_at.astimezone(zone).date(), today)
        own = ", ".join(tags.get(stage.pk, ())) if stage else ""
        jars.append(Planned(window, name[:1].upper() + name[1:], own, day))
    return jars


def _day(day: date, jars: Sequence[Planned], at: datetime, zone: ZoneInfo, per_day: int) -> PressDay:
    here = [jar for jar in jars if jar.day == day]
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=zone)
    near = (day - at.astimezone(zone).date()).days < 7
    words = day_words(noon, at, zone) if near else f"{day:%A}"
    return PressDay(day, words[:1].upper() + words[1:], here, max(len(here) - per_day, 0) if per_day else 0)


def _choices(
    jar: Planned, load: Counter[date], today: date, per_day: int, calendar: Calendar
) -> list[Choice]:
    """Open days inside of the window, from tomorrow on, other than its own."""
    first = max(today + timedelta(days=1), jar.window.opens)
    last = jar.window.closes or first + timedelta(days=MOST_CHOICES)
    span = range(max((last - first).days + 1, 0))
    days = [day for number in span if (day := first + timedelta(days=number)) not in calendar.closed]
    free = [day for day in days if day != jar.day][:MOST_CHOICES]
    return [Choice(day, load[day], bool(per_day) and load[day] >= per_day) for day in free]

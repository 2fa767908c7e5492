"""What stands ahead: series that run, and windows with the day for which their act is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from workshop.reminders.models import Due, Series
from workshop.reminders.queries import DueItem, next_for
from workshop.reminders.slots import CLOSES, OPENS, REPEAT, TARGET


@dataclass(frozen=True, slots=True)
class Running:
    """A series that stands, with its rule and the first open due of it, if there is one."""

    key: str
    act: str
    title: str
    place: str
    rule: Mapping[str, Any]
    next: DueItem | None


def running(*, prefix: str, at: datetime) -> list[Running]:
    """The series whose keys begin so, in the order of the walk."""
    standing = Series.objects.filter(key__startswith=prefix, closed_at=None)
    rows = list(standing.order_by("walk", "place", "title", "pk"))
    first = next_for(keys=[row.key for row in rows], at=at)
    return [Running(row.key, row.act, row.title, row.place, row.rule, first.get(row.key)) for row in rows]


@dataclass(frozen=True, slots=True)
class WindowOf:
    """A window that is not settled: the due that plans its act, and the days it may be done on.

    `due` is the target's, or what is left of the window; `due_at` when it is planned.
    """

    key: str
    title: str
    place: str
    due: int
    due_at: datetime
    opens: date
    closes: date | None
    late: bool


def windows(*, act: str, at: datetime) -> list[WindowOf]:
    """Every open window of this act, by when it is planned; one query."""
    rows = Due.objects.filter(series__act=act, series__closed_at=None, day__isnull=False)
    # What another plan of the days has replaced says nothing any more.
    rows = rows.exclude(state=Due.State.DROPPED, settled_with=None)
    by_series: dict[int, dict[str, Due]] = {}
    for row in rows.exclude(kind=REPEAT).select_related("series").order_by("slot"):
        by_series.setdefault(row.series_id, {})[row.kind] = row
    found = [_window(kinds, at) for kinds in by_series.values()]
    return sorted((one for one in found if one is not None), key=lambda one: (one.due_at, one.key))


def _window(kinds: Mapping[str, Due], at: datetime) -> WindowOf | None:
    opens, closes = kinds.get(OPENS), kinds.get(CLOSES)
    planned = [kinds[kind] for kind in (TARGET, CLOSES) if kind in kinds]
    row = next((one for one in planned if one.state == Due.State.OPEN), None)
    if row is None or row.day is None:
        return None
    first = opens.day if opens is not None and opens.day is not None else row.day
    late_at = closes.late_at if closes is not None else None
    late = late_at is not None and at >= late_at
    end = closes.day if closes is not None else None
    return WindowOf(row.series.key, row.series.title, row.series.place, row.pk, row.due_at, first, end, late)

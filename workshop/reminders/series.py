"""Opening, closing and planning series. See the package's docstring for the whole door."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q

from workshop.reminders.calendar import fingerprint, workshop_calendar
from workshop.reminders.models import Due, Reach, Series
from workshop.reminders.planning import AHEAD, plan
from workshop.reminders.rules import Rule, from_json, to_json
from workshop.reminders.slots import REPEAT, Calendar

log = logging.getLogger(__name__)
TRY_AGAIN = timedelta(hours=1)


@transaction.atomic
def open_series(
    *,
    key: str,
    act: str,
    title: str,
    rule: Rule | Mapping[str, Any],
    starts_at: datetime,
    at: datetime,
    place: str = "",
    walk: int = 0,
    url: str = "",
    ends_at: datetime | None = None,
) -> None:
    """Make sure that a series stands as described, with its rows. Calling it again changes nothing.

    With another rule, start or end the open rows ahead are planned again; settled rows stand. A series
    that was closed opens again with the rows it had. `place` and `walk` are the place's name and order in
    the walk. Raises BadRule for a rule that makes no sense.
    """
    document = to_json(rule if not isinstance(rule, Mapping) else from_json(rule))
    course = {"rule": document, "starts_at": starts_at, "ends_at": ends_at}
    words = {"act": act, "title": title[:200], "place": place, "walk": walk, "url": url}
    Series.objects.bulk_create([Series(key=key, **course, **words)], ignore_conflicts=True)
    series = Series.objects.select_for_update().get(key=key)
    fresh = any(getattr(series, name) != value for name, value in course.items())
    closed = series.closed_at
    for name, value in (course | words | {"closed_at": None}).items():
        setattr(series, name, value)
    if closed is not None:
        _take_back_closing(series, closed, since=starts_at if fresh else None)
    series.save()
    if fresh or closed is not None or series.planned_to is None:
        plan(series=series, at=at, calendar=workshop_calendar(), fresh=fresh)


def _take_back_closing(series: Series, closed_at: datetime, since: datetime | None) -> None:
    """The rows that the closing settled are open again, on a new course those after its start (`since`).

    A person's own marks stand.
    """
    swept = Due.objects.filter(series=series, settled_by=None, settled_with=None, settled_at=closed_at)
    if since is not None:  # a pot that rested was not overlooked
        swept = swept.filter(slot__gt=since)
    swept.update(state=Due.State.OPEN, settled_at=None)


@transaction.atomic
def close_series(*, key: str, at: datetime) -> None:
    """The reason is gone: open rows leave the board. Repeats that a later one had overtaken count as missed.

    A key that was never opened, or is closed already, is left alone.
    """
    series = Series.objects.select_for_update().filter(key=key, closed_at=None).first()
    if series is None:
        return
    rows = Due.objects.filter(series=series, state=Due.State.OPEN)
    latest = rows.filter(slot__lte=at).order_by("-slot").values_list("slot", flat=True).first()
    if latest is not None:
        rows.filter(slot__lt=latest, kind=REPEAT).update(state=Due.State.MISSED, settled_at=at)
    rows.update(state=Due.State.DROPPED, settled_at=at)
    series.closed_at, series.planned_to, series.plan_next_at = at, at, None
    series.save(update_fields=["closed_at", "planned_to", "plan_next_at"])


@transaction.atomic
def open_again(*, key: str, at: datetime) -> None:
    """A closed series stands as before, with the rows it had. One that was never opened is left alone."""
    row = Series.objects.filter(key=key).first()
    if row is not None:
        names = ("act", "title", "rule", "starts_at", "ends_at", "place", "walk", "url")
        open_series(key=key, at=at, **{name: getattr(row, name) for name in names})


def running(keys: Iterable[str]) -> set[str]:
    """Those of `keys` whose series stands and was not closed."""
    return set(Series.objects.filter(key__in=list(keys), closed_at=None).values_list("key", flat=True))


@transaction.atomic
def move_place(*, was: str, place: str, walk: int) -> None:
    """A place has a new name or another turn in the walk; who asked to hear of it goes on hearing."""
    Series.objects.filter(place=was).update(place=place, walk=walk)
    if place != was:
        for reach in Reach.objects.select_for_update().filter(places__contains=[was]):
            reach.places = [place if name == was else name for name in reach.places]
            reach.save(update_fields=["places"])


def plan_ahead(*, at: datetime) -> int:
    """Plan every series whose rows run out, or were made for another calendar. Returns how many.

    A series that cannot be planned is put an hour ahead with its error, and stops no other.
    """
    calendar = workshop_calendar()
    # A time further ahead than any planning sets is a clock's mistake.
    ripe = Q(plan_next_at__lte=at) | Q(plan_next_at__gt=at + AHEAD) | ~Q(planned_for=fingerprint(calendar))
    return _plan_those(ripe, at, calendar)


def replan_all(*, at: datetime) -> int:
    """Plan every open series again. The sweep does the same within a minute of a changed calendar."""
    return _plan_those(Q(), at, workshop_calendar())


def _plan_those(which: Q, at: datetime, calendar: Calendar) -> int:
    keys = Series.objects.filter(which, closed_at=None).order_by("pk").values_list("pk", flat=True)
    return sum(_plan_one(pk, which, at, calendar) for pk in list(keys))


def _plan_one(pk: int, which: Q, at: datetime, calendar: Calendar) -> bool:
    """One series in its own transaction; one that another sweep has in hand is left to it."""
    try:
        with transaction.atomic():
            locked = Series.objects.select_for_update(skip_locked=True)
            series = locked.filter(which, pk=pk, closed_at=None).first()
            if series is None:
                return False
            plan(series=series, at=at, calendar=calendar)
            return True
    except Exception as error:
        log.exception("series %s cannot be planned", pk)
        later = {"plan_next_at": at + TRY_AGAIN, "planned_for": fingerprint(calendar)}
        Series.objects.filter(pk=pk).update(error=f"{type(error).__name__}: {error}"[:300], **later)
        return False

"""What is due, for Rounds, Shelf and the batch page: one or two queries each, however long the list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, F, Q, QuerySet, Window

from workshop.people.models import Person
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.models import Due, Mail
from workshop.reminders.slots import MUSTS, REPEAT


@dataclass(frozen=True, slots=True)
class DueItem:
    """One line of a round. `missed` counts the older open repeats that this one stands for.

    `kind` tells a window's three apart ("opens", "target", "closes"); `must`: a day it must not miss.
    """

    pk: int
    key: str
    act: str
    title: str
    place: str
    url: str
    slot: datetime
    due_at: datetime
    late: bool
    missed: int
    kind: str = ""
    watch: bool = False

    @property
    def must(self) -> bool:
        return self.kind in MUSTS


def due_now(*, at: datetime) -> list[DueItem]:
    """What is due at `at`, one item a series: places in walking order, then by act, then the oldest slot."""
    return _items(Q(due_at__lte=at), at)


def due_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """What is due of these series, by key."""
    found = _items(Q(due_at__lte=at, series__key__in=list(keys)), at)
    return {item.key: item for item in found}


def next_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """What comes next of each series: what is due now, else the first to come."""
    wanted = list(keys)
    return coming_for(keys=wanted, at=at) | due_for(keys=wanted, at=at)


def coming_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """The first of each series that is still to come, by key, whatever of it is due already."""
    ahead = _open(Q(due_at__gt=at, series__key__in=list(keys))).order_by("series_id", "due_at", "pk")
    return {row.series.key: _item(row, at, 0) for row in ahead.distinct("series_id")}


def next_due(*, key: str, at: datetime) -> DueItem | None:
    """`next_for` of one series. For many series ask `next_for` once."""
    return next_for(keys=[key], at=at).get(key)


def due_by(*, until: datetime, at: datetime) -> list[DueItem]:
    """What is due at `at` or comes due by `until`, one item a series, lateness as of `at`.

    Of a watch (a pot every half hour) only what was overlooked counts: the rest is the board's.
    """
    watches = [item for item in _items(Q(due_at__lte=at, day=None), at) if item.late or item.missed]
    return sorted(_items(Q(due_at__lte=until, day__isnull=False), at) + watches, key=lambda item: item.due_at)


def missed_count(*, key: str, at: datetime) -> int:
    """How many repeats of a series went by undone, up to `at`: the quiet tally."""
    rows = Due.objects.filter(series__key=key, kind=REPEAT)
    waiting = due_for(keys=[key], at=at).get(key)
    return rows.filter(state=Due.State.MISSED).count() + (waiting.missed if waiting else 0)


@dataclass(frozen=True, slots=True)
class Digest:
    """Today's digest for a person, as it was made. `shown_only`: no mail goes out for it."""

    subject: str
    body: str
    made_at: datetime
    sent_at: datetime | None
    shown_only: bool


def todays_digest(*, person: Person, at: datetime) -> Digest | None:
    """The digest of the workshop's present day, or None when nothing was due or it is not made yet."""
    row = Mail.objects.filter(person=person, day=workshop_calendar().today(at)).first()
    return Digest(row.subject, row.body, row.made_at, row.sent_at, not row.to) if row else None


SAID = ("key", "act", "title", "place", "walk", "url")  # of a series, by a DueItem


def _open(which: Q) -> QuerySet[Due]:
    rows = Due.objects.filter(which, state=Due.State.OPEN).select_related("series")
    return rows.only("slot", "kind", "day", "due_at", "late_at", *(f"series__{name}" for name in SAID))


def _items(which: Q, at: datetime) -> list[DueItem]:
    """The latest slot of each series, with a count of its repeats; in the order of the walk."""
    repeats = Window(Count("pk", filter=Q(kind=REPEAT)), partition_by=F("series_id"))
    rows = _open(which).annotate(repeats=repeats).order_by("series_id", "-slot", "-pk").distinct("series_id")
    walk = sorted(
        rows,
        key=lambda row: (
            row.series.walk,
            row.series.place,
            row.series.act,
            row.due_at,
            row.series.title,
            row.pk,
        ),
    )
    return [_item(row, at, row.repeats - (row.kind == REPEAT)) for row in walk]


def _item(row: Due, at: datetime, missed: int) -> DueItem:
    series = row.series
    return DueItem(
        pk=row.pk,
        key=series.key,
        act=series.act,
        title=series.title,
        place=series.place,
        url=series.url,
        slot=row.slot,
        due_at=row.due_at,
        late=row.late_at is not None and at >= row.late_at,
        missed=missed,
        kind=row.kind,
        watch=row.day is None,
    )

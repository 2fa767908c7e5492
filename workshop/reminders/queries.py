"""What is due, for Rounds, Shelf and the batch page: one or two queries each, however long the list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from operator import itemgetter
from typing import Any

from django.db import connection

from workshop.people.models import Person
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.models import Due, Mark, Message
from workshop.reminders.slots import MUSTS, OPENS, REPEAT


@dataclass(frozen=True, slots=True)
class DueItem:
    """One line of a round. `missed` counts the older open repeats that this one stands for.

    `kind` tells a window's three apart ("opens", "target", "closes"); `must`: a day it must not miss;
    `asks`: a hand is wanted. A window that has only opened asks for none yet.
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

    @property
    def asks(self) -> bool:
        return self.kind != OPENS


@dataclass(frozen=True, slots=True)
class Tally:
    """How many things are due, and how many of those are late: the one count, wherever it is said."""

    due: int
    late: int


def tally(items: Iterable[DueItem]) -> Tally:
    """The count of what asks for a hand."""
    asking = [item for item in items if item.asks]
    return Tally(len(asking), sum(item.late for item in asking))


@dataclass(frozen=True, slots=True)
class Board:
    """What is due at `at`, in the order of the walk, and the first of each series still to come.

    `may` holds windows that have opened and ask for nothing yet: they are not due.
    As long as no due is written it is the same until `until`, when the next one falls due or late.
    """

    due: Sequence[DueItem]
    may: Sequence[DueItem]
    coming: Mapping[str, DueItem]
    at: datetime
    until: datetime | None

    def holds(self, at: datetime) -> bool:
        return self.at <= at and (self.until is None or at < self.until)


def board(*, at: datetime) -> Board:
    """All that is open, one item a series on either side of `at`."""
    return _board(at, at)


def due_now(*, at: datetime) -> list[DueItem]:
    """What is due at `at`, one item a series: places in walking order, then by act, then the oldest slot."""
    return list(board(at=at).due)


def most_urgent(*, at: datetime) -> list[DueItem]:
    """What is due at `at`, most urgent first: for a wall that is read from afar.

    First what must be done and is late, then a watch (something stands on heat), what must be done today,
    what is late, the rest; among equals the longest due, then the order of the walk.
    """
    return by_urgency(board(at=at).due)


def by_urgency(items: Iterable[DueItem]) -> list[DueItem]:
    """The same order for items in hand; those of one urgency and moment stay as they came."""
    return sorted(items, key=lambda item: (_urgency(item), item.due_at))


def _urgency(item: DueItem) -> int:
    order = (item.must and item.late, item.watch, item.must, item.late, True)
    return order.index(True)


def due_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """What is due of these series, by key."""
    return {item.key: item for item in _of(keys, at).due}


def next_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """What comes next of each series: what is due now or may be done, else the first to come."""
    found = _of(keys, at)
    return {**found.coming, **{item.key: item for item in (*found.may, *found.due)}}


def coming_for(*, keys: Iterable[str], at: datetime) -> dict[str, DueItem]:
    """The first of each series that is still to come, by key, whatever of it is due already."""
    return dict(_of(keys, at).coming)


def next_due(*, key: str, at: datetime) -> DueItem | None:
    """`next_for` of one series. For many series ask `next_for` once."""
    return next_for(keys=[key], at=at).get(key)


def due_by(*, until: datetime, at: datetime) -> list[DueItem]:
    """What is due at `at` or comes due by `until`, one item a series, lateness as of `at`.

    Of a watch (a pot every half hour) only what is due already: the readings to come are the board's.
    """
    watches = _board(at, at, "AND day IS NULL").due
    timed = _board(until, at, "AND day IS NOT NULL").due
    return sorted([*timed, *watches], key=lambda item: item.due_at)


def missed_count(*, key: str, at: datetime) -> int:
    """How many repeats of a series went by undone, up to `at`: the quiet tally."""
    rows = Due.objects.filter(series__key=key, kind=REPEAT)
    waiting = due_for(keys=[key], at=at).get(key)
    return rows.filter(state=Due.State.MISSED).count() + (waiting.missed if waiting else 0)


def oldest_open(*, before: datetime, at: datetime) -> list[DueItem]:
    """Of each series the oldest due that was to be done before that moment and is still open, oldest first.

    `missed` counts the later repeats that wait behind it.
    """
    rows = Due.objects.filter(state=Due.State.OPEN, due_at__lte=before).exclude(kind=OPENS)
    rows = rows.select_related("series")
    found: dict[int, list[Due]] = {}
    for row in rows.order_by("due_at", "pk"):
        found.setdefault(row.series_id, []).append(row)
    return [_of_row(those[0], at, len(those) - 1) for those in found.values()]


def _of_row(row: Due, at: datetime, missed: int) -> DueItem:
    made = row.series
    facts = (row.pk, made.key, made.act, made.title, made.place, made.url)
    return _item((*facts, row.slot, row.due_at, row.late_at, row.kind, row.day), at, missed)


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody said of a due: done, skipped, put off `until`. `stands` until it is taken back."""

    due: int
    key: str
    act: str
    title: str
    place: str
    what: str
    by: str
    at: datetime
    until: datetime | None
    reason: str
    stands: bool


def said_since(*, since: datetime) -> list[Said]:
    """The last word on each due that somebody spoke of since then, latest first."""
    rows = Mark.objects.filter(at__gte=since).select_related("by", "due__series").order_by("due_id", "-pk")
    return sorted((_said(mark) for mark in rows.distinct("due_id")), key=lambda one: one.at, reverse=True)


def _said(mark: Mark) -> Said:
    due, series = mark.due, mark.due.series
    may = {
        Mark.What.DONE: Due.State.DONE,
        Mark.What.SKIPPED: Due.State.SKIPPED,
        Mark.What.SNOOZED: Due.State.OPEN,
    }
    stands = may.get(Mark.What(mark.what)) == due.state and series.closed_at is None
    if mark.what == Mark.What.SNOOZED:
        stands = stands and due.due_at == mark.until
    said = (due.pk, series.key, series.act, series.title, series.place, mark.what, mark.by.name)
    return Said(*said, mark.at, mark.until, mark.reason, stands)


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
    rows = Message.objects.filter(person=person, kind=Message.Kind.MORNING, via="mail")
    row = rows.filter(day=workshop_calendar().today(at)).first()
    return Digest(row.subject, row.body, row.made_at, row.sent_at, not row.to) if row else None


def lately(*, since: datetime) -> list[Message]:
    """What went out, or was to, latest first; at most 200."""
    rows = Message.objects.filter(made_at__gte=since).select_related("person", "channel")
    return list(rows.order_by("-pk")[:200])


def failing(*, since: datetime) -> list[Message]:
    """Those that a service or the mail server refused and that still wait, or were given up."""
    rows = Message.objects.filter(made_at__gte=since, sent_at=None, attempts__gt=0).exclude(error="")
    overtaken = rows.filter(dropped_at__isnull=False).exclude(error__startswith="Given up")
    found = rows.exclude(pk__in=overtaken.values("pk")).select_related("person", "channel")
    return list(found.order_by("-pk")[:100])


# Of each series the latest slot up to a moment, with a count of its repeats, and the first one after it.
READ = """
SELECT DISTINCT ON (d.series_id, d.ahead)
    d.ahead, d.id, s.key, s.act, s.title, s.place, s.url, d.slot, d.due_at, d.late_at, d.kind, d.day, s.walk,
    COUNT(*) FILTER (WHERE d.kind = %s) OVER (PARTITION BY d.series_id, d.ahead) AS repeats
FROM (SELECT *, due_at > %s AS ahead FROM reminders_due WHERE state = 'open' {only}) d
JOIN reminders_series s ON s.id = d.series_id {of}
ORDER BY d.series_id, d.ahead,
    CASE WHEN d.ahead THEN d.due_at END, CASE WHEN NOT d.ahead THEN d.slot END DESC,
    CASE WHEN d.ahead THEN d.id ELSE -d.id END
"""


def _of(keys: Iterable[str], at: datetime) -> Board:
    return _board(at, at, of="AND s.key = ANY(%s)", values=[list(keys)])


def _board(
    upto: datetime, at: datetime, only: str = "", of: str = "", values: Sequence[list[str]] = ()
) -> Board:
    """The open dues up to a moment and after it; lateness as of `at`."""
    due: list[tuple[tuple[object, ...], DueItem]] = []
    coming: dict[str, DueItem] = {}
    moments: set[datetime] = set()
    with connection.cursor() as cursor:
        cursor.execute(READ.format(only=only, of=of), [REPEAT, upto, *values])
        for ahead, *row, walk, repeats in cursor.fetchall():
            item = _item(row, at, 0 if ahead else repeats - (row[-2] == REPEAT))
            moments |= {moment for moment in row[7:9] if moment is not None and moment > at}
            if ahead:
                coming[item.key] = item
            else:
                due.append(((walk, item.place, item.act, item.due_at, item.title, item.pk), item))
    ordered = [item for _, item in sorted(due, key=itemgetter(0))]
    asking, may = [item for item in ordered if item.asks], [item for item in ordered if not item.asks]
    return Board(asking, may, coming, at, min(moments, default=None))


def _item(row: Sequence[Any], at: datetime, missed: int) -> DueItem:
    pk, key, act, title, place, url, slot, due_at, late_at, kind, day = row
    late = late_at is not None and at >= late_at
    return DueItem(pk, key, act, title, place, url, slot, due_at, late, missed, kind, day is None)

"""From a series to its rows. The caller holds the lock on the series' row."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from workshop.calc.slots import slot_utc
from workshop.reminders.calendar import fingerprint
from workshop.reminders.models import Due, Series
from workshop.reminders.rules import LONGEST_DAYS, Daily, Every, Rule, from_json
from workshop.reminders.slots import REPEAT, Calendar, Slot, slots

AHEAD = timedelta(days=14)
WATCH_AHEAD = timedelta(days=1)
FAR = timedelta(days=LONGEST_DAYS + 400)
# After a longer outage the tally starts here; nobody needs last month's shakes listed.
LOOK_BACK = timedelta(days=7)
INSTANT = timedelta(microseconds=1)


def repeats(rule: Rule) -> bool:
    return isinstance(rule, Daily | Every)


def plan(*, series: Series, at: datetime, calendar: Calendar, fresh: bool = False) -> None:
    """Make the rows that the rule wants, take away those it no longer wants; settled rows stand.

    Safe to repeat. Rows reach so far ahead that the board stays right for days without any worker.
    `fresh`: the rule itself is new, so what was skipped under the old one is asked again.
    """
    rule = from_json(series.rule)
    end = _end(rule, series, at)
    since = _since(rule, series, at, calendar)
    wanted = [s for s in slots(rule, start=series.starts_at, until=end, calendar=calendar) if s.at > since]
    if not repeats(rule):
        wanted = _still_wanted(series, wanted, fresh)
    _take_away(series, wanted, at, ahead_only=repeats(rule))
    _make(series, wanted)
    more = repeats(rule) and (series.ends_at is None or series.ends_at > end)
    series.planned_to = end if repeats(rule) else at
    series.plan_next_at = at + _reach(rule) / 2 if more else None
    series.planned_for, series.error = fingerprint(calendar), ""
    series.save(update_fields=["planned_to", "plan_next_at", "planned_for", "error"])


def _reach(rule: Rule) -> timedelta:
    return WATCH_AHEAD if isinstance(rule, Every) else AHEAD if isinstance(rule, Daily) else FAR


def _end(rule: Rule, series: Series, at: datetime) -> datetime:
    end = (max(at, series.starts_at) if repeats(rule) else series.starts_at) + _reach(rule)
    return end if series.ends_at is None else min(end, series.ends_at)


def _since(rule: Rule, series: Series, at: datetime, calendar: Calendar) -> datetime:
    """Only later slots are made. A single act or a window is looked at whole, so that it is never lost.

    A repeated act is looked at from where the rows ended, or from now if they reach further: a clock
    that ran ahead for a while then leaves no hole. A jar entered late begins with today.
    """
    start = series.starts_at - INSTANT
    if not repeats(rule):
        return start
    midnight = slot_utc(calendar.today(at), time(0), calendar.zone) - INSTANT
    known = midnight if series.planned_to is None else min(series.planned_to, at)
    return max(start, known, at - LOOK_BACK)


def _still_wanted(series: Series, wanted: list[Slot], fresh: bool) -> list[Slot]:
    """Nothing more once the act is done; under the old rule, not again what a person has skipped."""
    settled = Due.objects.filter(series=series).exclude(kind=REPEAT)
    if settled.filter(state=Due.State.DONE).exists():
        return []
    if fresh:
        return wanted
    skipped = set(settled.filter(state=Due.State.SKIPPED).values_list("kind", flat=True))
    return [slot for slot in wanted if slot.kind not in skipped]


def _take_away(series: Series, wanted: list[Slot], at: datetime, *, ahead_only: bool) -> None:
    """Open rows that no wanted slot matches are dropped. They stay: a calendar elsewhere may hold them."""
    keep = {(slot.at, slot.kind, slot.day, slot.late_at) for slot in wanted}
    rows = Due.objects.filter(series=series, state=Due.State.OPEN)
    if ahead_only:
        rows = rows.filter(slot__gt=at)
    gone = [row.pk for row in rows if (row.slot, row.kind, row.day, row.late_at) not in keep]
    Due.objects.filter(pk__in=gone).update(state=Due.State.DROPPED, settled_at=at)


def _make(series: Series, wanted: list[Slot]) -> None:
    """New rows; the database's own constraints leave out what is there already."""
    dropped = Due.objects.filter(series=series, state=Due.State.DROPPED, settled_with=None)
    for row in dropped.filter(slot__in=[slot.at for slot in wanted]):
        slot = next(slot for slot in wanted if slot.at == row.slot)
        if not _taken(series, slot):
            _open_again(row, slot)
    Due.objects.bulk_create(
        [
            Due(series=series, slot=s.at, kind=s.kind, day=s.day, due_at=s.at, late_at=s.late_at)
            for s in wanted
        ],
        ignore_conflicts=True,
    )


def _taken(series: Series, slot: Slot) -> bool:
    """Does the series already have a standing row for this local day?"""
    standing = Due.objects.filter(series=series, day=slot.day, kind=slot.kind).exclude(
        state=Due.State.DROPPED
    )
    return slot.day is not None and standing.exists()


def _open_again(row: Due, slot: Slot) -> None:
    row.state, row.settled_at, row.settled_by, row.due_at = Due.State.OPEN, None, None, slot.at
    row.kind, row.day, row.late_at = slot.kind, slot.day, slot.late_at
    row.save()

"""The slots of a rule in a workshop's calendar, in UTC. Plain Python.

On a closed day nobody is there: a repeated act waits for the next open day, and is left out where that day
has its own; an act that must be done (a window that closes) moves to the open day before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from workshop.calc.slots import (
    ALWAYS_OPEN,
    ONE_DAY,
    Closed,
    local_day,
    midnight_after,
    slot_utc,
    window_days,
)
from workshop.reminders.rules import After, Daily, Every, Once, Rule, Window

# What a slot is. Plain repeats can be missed; of a window's three, a later one replaces an earlier one.
REPEAT, ONCE, OPENS, TARGET, CLOSES, MUST = "", "once", "opens", "target", "closes", "must"
MUSTS = frozenset({CLOSES, MUST})
LONGEST_GRACE = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Calendar:
    """Where the workshop's clock hangs, when it opens, and on which days it does not."""

    zone: ZoneInfo
    opens: time = time(7, 30)
    closed: Closed = ALWAYS_OPEN

    def today(self, at: datetime) -> date:
        return local_day(at, self.zone)


@dataclass(frozen=True, slots=True)
class Slot:
    """One nominal time in UTC, when it counts as late (None: never), its local day (None: a watch)."""

    at: datetime
    kind: str = REPEAT
    day: date | None = None
    late_at: datetime | None = None


def slots(rule: Rule, *, start: datetime, until: datetime, calendar: Calendar) -> list[Slot]:
    """All slots from `start` to `until` (both included), oldest first, no two at one moment.

    `start` anchors the rule: day 0 is its local day. Of two of a window's slots at one moment, the later
    in the window stands.
    """
    found = {slot.at: slot for slot in _raw(rule, start, until, calendar) if start <= slot.at <= until}
    return [found[at] for at in sorted(found)]


def _raw(rule: Rule, start: datetime, until: datetime, calendar: Calendar) -> Iterator[Slot]:
    match rule:
        case Daily():
            yield from _daily(rule, start, until, calendar)
        case Window():
            yield from _window(rule, start, calendar)
        case Every():
            yield from _every(rule, start, until)
        case Once():
            yield _single(rule.at.astimezone(UTC), rule.must, start, calendar)
        case After():
            yield _single(start + timedelta(hours=rule.hours), rule.must, start, calendar)


def _on(day: date, at: time | None, kind: str, calendar: Calendar, *, late: bool = True) -> Slot:
    over = midnight_after(day, calendar.zone) if late else None
    return Slot(slot_utc(day, at or calendar.opens, calendar.zone), kind, day, over)


def _daily(rule: Daily, start: datetime, until: datetime, calendar: Calendar) -> Iterator[Slot]:
    first, last = calendar.today(start), calendar.today(until)
    for offset in _offsets(rule, (last - first).days):
        day = calendar.closed.next_open(first + offset * ONE_DAY, rule.weekdays)
        yield _on(day, rule.at, REPEAT, calendar)


def _offsets(rule: Daily, last: int) -> Iterator[int]:
    """Day numbers from `from_day` to `last`, each a step after the one before, as the taper says there."""
    ends, begin = [], rule.from_day
    for days, every in rule.taper:
        begin += days
        ends.append((begin, every))
    number = rule.from_day
    while number <= last:
        yield number
        number += next((every for end, every in ends if number < end), rule.every)


def _window(rule: Window, start: datetime, calendar: Calendar) -> Iterator[Slot]:
    zero = calendar.today(start)
    opens, target, closes = window_days(
        opens=zero + rule.opens * ONE_DAY,
        target=zero + rule.target * ONE_DAY,
        closes=None if rule.closes is None else zero + rule.closes * ONE_DAY,
        closed=calendar.closed,
    )
    yield _on(opens, rule.at, OPENS, calendar, late=False)
    yield _on(target, rule.at, TARGET, calendar, late=False)
    if closes is not None:
        yield _never_before(start, _on(closes, rule.at, CLOSES, calendar))


def _single(at: datetime, must: bool, start: datetime, calendar: Calendar) -> Slot:
    """Exact where the workshop is open; else at the opening of the day before (`must`) or after."""
    day = calendar.today(at)
    kind = MUST if must else ONCE
    exact = Slot(at, kind, day, midnight_after(day, calendar.zone))
    if day not in calendar.closed:
        return exact
    if not must:
        return _on(calendar.closed.next_open(day), None, kind, calendar)
    before = _on(calendar.closed.last_open(day), None, kind, calendar)
    return before if before.at >= start else exact


def _never_before(start: datetime, slot: Slot) -> Slot:
    """What must be done is due at once when its hour was over before the series began: it is never lost."""
    return slot if slot.at >= start else Slot(start, slot.kind, slot.day, slot.late_at)


def _every(rule: Every, start: datetime, until: datetime) -> Iterator[Slot]:
    gap = timedelta(minutes=rule.minutes)
    end = until if rule.hours is None else min(until, start + timedelta(hours=rule.hours))
    at = start + gap
    while at <= end:
        yield Slot(at, REPEAT, None, at + min(gap / 2, LONGEST_GRACE))
        at += gap

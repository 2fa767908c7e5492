"""When a hand is needed: shake slots, the press window, the next look at the pot.

Days are counted on the workshop's own calendar and each slot is stored in UTC. A day is never added to a
UTC instant: over a clock change that would shift the hour. A local time the clock skips becomes the next
minute it shows; a local time shown twice means the first. Nothing here asks what time it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from batches.calc.errors import OutOfRange
from workshop.calc import slots
from workshop.calc.slots import ALWAYS_OPEN, Closed, slot_utc, window_days

_DAY = timedelta(days=1)


def local_day(at: datetime, zone: ZoneInfo) -> date:
    """The workshop's calendar day at the instant `at` (aware)."""
    _need_aware(at)
    return slots.local_day(at, zone)


def day_number(charged_at: datetime, at: datetime, zone: ZoneInfo) -> int:
    """Days since charging on the workshop's calendar: 0 on the day itself."""
    return (local_day(at, zone) - local_day(charged_at, zone)).days


def _need_aware(at: datetime) -> None:
    if at.tzinfo is None:
        raise OutOfRange("A moment needs its time zone.")


@dataclass(frozen=True, slots=True)
class Taper:
    """From day `from_day` on (charging is day 0), shake every `every_days` days."""

    from_day: int
    every_days: int


def shake_days(
    *,
    charged_on: date,
    until: date,
    tapers: Sequence[Taper],
    closed: Closed = ALWAYS_OPEN,
) -> list[date]:
    """The days on which to shake, day 1 to `until`; a closed day's shake is done on the next open day.

    No `tapers` means no shaking. Raises `OutOfRange` for tapers out of order or an interval below a day.
    """
    if any(t.every_days < 1 for t in tapers) or list(tapers) != sorted(tapers, key=lambda t: t.from_day):
        raise OutOfRange("Shaking eases off in steps: each from a later day, every one day or more.")
    moved = {closed.next_open(day) for day in _plain_shakes(charged_on, until, tapers)}
    return sorted(day for day in moved if day <= until)


def _plain_shakes(charged_on: date, until: date, tapers: Sequence[Taper]) -> Iterator[date]:
    number = 1
    while charged_on + number * _DAY <= until:
        step = next((t.every_days for t in reversed(tapers) if t.from_day <= number), None)
        if step is None:
            number += 1
            continue
        yield charged_on + number * _DAY
        number += step


def shake_slots(
    *,
    charged_on: date,
    until: date,
    tapers: Sequence[Taper],
    at: time,
    zone: ZoneInfo,
    closed: Closed = ALWAYS_OPEN,
) -> list[datetime]:
    """`shake_days` as UTC instants at the workshop's `at`."""
    days = shake_days(charged_on=charged_on, until=until, tapers=tapers, closed=closed)
    return [slot_utc(day, at, zone) for day in days]


@dataclass(frozen=True, slots=True)
class PressWindow:
    """The days between which to press and their UTC slots; a window may never close."""

    opens_on: date
    target_on: date
    closes_on: date | None
    opens: datetime = field(repr=False)
    target: datetime = field(repr=False)
    closes: datetime | None = field(repr=False)


def press_window(
    *,
    charged_on: date,
    min_days: int,
    target_days: int,
    max_days: int | None,
    at: time,
    zone: ZoneInfo,
    closed: Closed = ALWAYS_OPEN,
) -> PressWindow:
    """When to press a jar charged on `charged_on`.

    Opening and target move past closed days; closing moves before them, but never before opening.
    """
    ends = target_days if max_days is None else max_days
    if not 0 <= min_days <= target_days <= ends:
        raise OutOfRange("The press window needs least, target and most days in that order.")
    opens, target, closes = window_days(
        opens=charged_on + min_days * _DAY,
        target=charged_on + target_days * _DAY,
        closes=None if max_days is None else charged_on + max_days * _DAY,
        closed=closed,
    )
    return PressWindow(
        opens,
        target,
        closes,
        slot_utc(opens, at, zone),
        slot_utc(target, at, zone),
        None if closes is None else slot_utc(closes, at, zone),
    )


def days_later(*, day: date, days: int, at: time, zone: ZoneInfo, closed: Closed = ALWAYS_OPEN) -> datetime:
    """The UTC slot `days` calendar days after `day` (day-1 check, settling), on the next open day."""
    if days < 0:
        raise OutOfRange("A reminder lies ahead: 0 days or more.")
    return slot_utc(closed.next_open(day + days * _DAY), at, zone)


def minutes_later(at: datetime, minutes: float) -> datetime:
    """`minutes` of elapsed time after the instant `at`, in UTC (the pot knows no summer time)."""
    _need_aware(at)
    return at.astimezone(UTC) + timedelta(minutes=minutes)

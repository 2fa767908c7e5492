"""Days on the workshop's calendar, and local wall-clock times as moments in UTC. No framework, no clock.

Sums over days are done on local dates, never on moments: adding 24 h to a moment shifts the hour of day
when the clocks change, and subtracting two aware local times ignores the change altogether.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

ONE_DAY = timedelta(days=1)
# The longest jump on record took a whole day (Apia, 30 December 2011, tz database).
LONGEST_GAP_MINUTES = 1560
# A year of closed days in a row is a mistake in the setting.
LONGEST_CLOSURE = 366


def slot_utc(day: date, at: time, zone: tzinfo) -> datetime:
    """The UTC moment of a local wall-clock time, to the minute.

    A time that the spring change leaves out becomes the next minute that exists; a time that the autumn
    change repeats is its first occurrence.
    """
    wanted = datetime.combine(day, at.replace(second=0, microsecond=0, tzinfo=None, fold=0))
    for minutes in range(LONGEST_GAP_MINUTES + 1):
        local = wanted + timedelta(minutes=minutes)
        found = local.replace(tzinfo=zone).astimezone(UTC)
        if found.astimezone(zone).replace(tzinfo=None) == local:
            return found
    raise ValueError(f"{day} {at:%H:%M} does not exist in {zone}, nor does any minute of the day after.")


def local_day(at: datetime, zone: tzinfo) -> date:
    """The calendar day in `zone` at an aware moment."""
    return at.astimezone(zone).date()


def midnight_after(day: date, zone: tzinfo) -> datetime:
    """The UTC moment at which a local day is over."""
    return slot_utc(day + ONE_DAY, time(0), zone)


@dataclass(frozen=True, slots=True)
class Closed:
    """Days on which nobody works: weekdays (Monday 0) and single dates.

    Closed on all seven weekdays says nothing about any of them, so then none counts as closed.
    """

    weekdays: frozenset[int] = frozenset()
    dates: Container[date] = frozenset()

    def __contains__(self, day: date) -> bool:
        return day in self.dates or (len(self.weekdays) < 7 and day.weekday() in self.weekdays)

    def next_open(self, day: date, weekdays: frozenset[int] | None = None) -> date:
        """`day`, or the first open day after it (of one of `weekdays`)."""
        return self._walk(day, ONE_DAY, weekdays)

    def last_open(self, day: date) -> date:
        """`day`, or the last open day before it."""
        return self._walk(day, -ONE_DAY, None)

    def _walk(self, day: date, step: timedelta, weekdays: frozenset[int] | None) -> date:
        """Should a year of days be closed, the day itself: a reminder is never lost to a setting."""
        first = day
        for _ in range(LONGEST_CLOSURE):
            if day not in self and (weekdays is None or day.weekday() in weekdays):
                return day
            day += step
        return first


ALWAYS_OPEN = Closed()


def window_days(
    *, opens: date, target: date, closes: date | None, closed: Closed = ALWAYS_OPEN
) -> tuple[date, date, date | None]:
    """A window's three days around closed ones.

    Opening and target move past closed days; closing moves before them, but never before opening.
    """
    first = closed.next_open(opens)
    best = max(first, closed.next_open(target))
    if closes is None:
        return first, best, None
    last = max(first, closed.last_open(closes))
    return first, min(best, last), last

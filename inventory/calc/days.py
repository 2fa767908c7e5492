"""Calendar days of the workshop and moments in UTC."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo


def day_of(moment: datetime, zone: ZoneInfo) -> date:
    """The workshop's calendar day at `moment`."""
    return moment.astimezone(zone).date()


def moment_on(day: date, at: datetime, zone: ZoneInfo) -> datetime:
    """When a thing of `day` happened: `at` itself if that is today, else noon of that day, in UTC."""
    if day == day_of(at, zone):
        return at
    return datetime.combine(day, time(12), tzinfo=zone).astimezone(UTC)

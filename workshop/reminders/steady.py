"""Whether the clock on the wall can be believed: a jump ahead must not write tomorrow's messages today.

The machine's uptime goes on evenly, asleep or not, whatever is done to the clock. A clock that has run away
from it within minutes is believed only after half an hour, unless it comes back first. A clock that was put
back is believed at once: messages are unique by their occurrence, so nothing is told twice.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta

JUMP = timedelta(minutes=5)
BELIEVED_AFTER = timedelta(minutes=30)


def uptime() -> float:
    """Seconds since the machine started, its sleep included where the system counts it."""
    kind = getattr(time, "CLOCK_BOOTTIME", None)
    return time.clock_gettime(kind) if kind is not None else time.monotonic()


@dataclass
class Steady:
    """What one worker process knows of its clock from sweep to sweep."""

    ahead: timedelta | None = field(default=None)
    doubted_since: float | None = field(default=None)

    def believes(self, *, at: datetime, up: float) -> bool:
        """Whether messages may be written at `at`, `up` seconds after the machine's start."""
        start = at - timedelta(seconds=up)
        offset = start - datetime.fromtimestamp(0, tz=at.tzinfo)
        if self.ahead is None or offset - self.ahead < JUMP:
            self.ahead, self.doubted_since = offset, None
            return True
        if self.doubted_since is None:
            self.doubted_since = up
        if up - self.doubted_since < BELIEVED_AFTER.total_seconds():
            return False
        self.ahead, self.doubted_since = offset, None
        return True

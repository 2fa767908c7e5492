"""The one clock. Only the edge (views, tasks, commands) reads it; everything else is handed `at`."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

_started = time.monotonic()


def now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(UTC)


def running_for() -> timedelta:
    """How long this process has been up, whatever was done to the clock."""
    return timedelta(seconds=time.monotonic() - _started)

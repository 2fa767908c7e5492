"""The one clock. Only the edge (views, tasks, commands) reads it; everything else is handed `at`."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(UTC)

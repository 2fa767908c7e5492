"""Signs of life, written by the tasks themselves: a worker that runs but hears nothing leaves them old."""

from __future__ import annotations

from datetime import datetime, timedelta

from workshop.models import Heartbeat

STALE = timedelta(minutes=5)


def beat(*, name: str, at: datetime) -> None:
    """Note that `name` has just run."""
    Heartbeat.objects.update_or_create(name=name, defaults={"beat_at": at})


def age(*, name: str, at: datetime) -> timedelta | None:
    """How long ago `name` ran, or nothing when it never did."""
    row = Heartbeat.objects.filter(name=name).first()
    return at - row.beat_at if row else None


def alive(*, name: str, at: datetime) -> bool:
    """True when `name` ran within the last five minutes."""
    since = age(name=name, at=at)
    return since is not None and since < STALE

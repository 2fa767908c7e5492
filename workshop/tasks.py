"""What the bell rings for. Each task looks at the database and leaves a sign of life there."""

from __future__ import annotations

from celery import shared_task

from workshop import clock, heartbeat
from workshop.backups import nightly
from workshop.reminders import steady
from workshop.reminders import sweep as reminders

STEADY = steady.Steady()  # of this worker process


@shared_task(name="workshop.sweep")
def sweep() -> None:
    """Once a minute."""
    at = clock.now()
    heartbeat.beat(name="sweep", at=at)
    reminders.sweep(at=at, write=STEADY.believes(at=at, up=steady.uptime()))


@shared_task(name="workshop.backup")
def backup() -> None:
    """Once a minute too: makes the night's backup when that is due and not yet there."""
    nightly.back_up_if_due(at=clock.now())

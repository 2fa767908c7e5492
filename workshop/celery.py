"""The Celery app. Beat and worker only ring a bell: what is due stands in the database."""

from __future__ import annotations

import os
import time
from datetime import datetime
from pathlib import Path
from typing import Any

from celery import Celery
from celery.schedules import schedstate, schedule
from celery.signals import beat_init, celeryd_init, worker_ready

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")


class Steady(schedule):
    """Every so many seconds of this machine's uptime.

    Celery's own intervals go by the wall clock: set that back two hours and beat keeps silent for two hours.
    Its calendar rules miss beats when summer time ends: what is due on which day is never asked of it.
    """

    def __init__(self, seconds: float) -> None:
        super().__init__(seconds)
        self.next_at = time.monotonic() + seconds

    def is_due(self, last_run_at: datetime) -> tuple[bool, float]:
        """Whether to ring now, and the seconds until the next look."""
        left = self.next_at - time.monotonic()
        if left > 0:
            return schedstate(is_due=False, next=left)
        self.next_at = time.monotonic() + self.seconds
        return schedstate(is_due=True, next=self.seconds)


app = Celery("workshop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
# A ring that nobody heard is worth nothing once the next one has come.
app.conf.beat_schedule = {
    name: {"task": f"workshop.{name}", "schedule": Steady(60.0), "options": {"expires": 55}}
    for name in ("sweep", "backup")
}


@celeryd_init.connect
@beat_init.connect
def make_folders(**_: Any) -> None:
    """The filesystem broker does not make the folder it writes to."""
    folder = app.conf.broker_transport_options.get("data_folder_in")
    if folder:
        Path(folder).mkdir(mode=0o700, parents=True, exist_ok=True)


@worker_ready.connect
def look_at_once(**_: Any) -> None:
    """A worker that comes back looks at the table at once; beat may be up to a minute away."""
    app.send_task("workshop.sweep", expires=55)

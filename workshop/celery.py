"""The Celery app. Beat and worker only ring a bell: what is due stands in the database."""

from __future__ import annotations

import os

from celery import Celery
from celery.signals import worker_ready

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")

app = Celery("workshop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# Plain intervals: Celery's calendar rules miss beats when the clocks change. What is due, and when, is our own sum.
app.conf.beat_schedule = {
    "sweep": {"task": "workshop.sweep", "schedule": 60.0},
    "nightly backup": {"task": "workshop.backup", "schedule": 600.0},
}


@worker_ready.connect
def look_at_once(**_: object) -> None:
    """A worker that comes back looks at the table at once; beat may be up to a minute away."""
    app.send_task("workshop.sweep")

"""The readings of a batch."""

from __future__ import annotations

from batches.models import Batch, Reading


def readings_of(batch: Batch) -> list[Reading]:
    """What was measured at its steps and still stands, oldest first."""
    rows = Reading.objects.filter(stage__batch=batch, superseded_by__isnull=True, withdrawn=False)
    return list(rows.select_related("by", "stage").order_by("at", "pk"))

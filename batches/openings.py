"""How a batch comes into being: its number, its stages in their order, the first one open.

Shared by the actions that start one (planned, quick jar, adopted jar); it calls no action.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Max

from batches.logbook import Moves, open_stage
from batches.models import Batch, Stage
from workshop.models import Workshop
from workshop.people.models import Person

Step = tuple[str, Mapping[str, Any]]


def new_batch(*, title: str, steps: Sequence[Step], by: Person, at: datetime, **facts: Any) -> Batch:
    """A batch with the next number and `steps` (kind, settings) one after the other, the first one open.

    The workshop's row is locked while the number is taken, so two batches begun at once get two numbers.
    """
    Workshop.objects.select_for_update(no_key=True).get(pk=1)
    last = Batch.objects.aggregate(last=Max("number"))["last"] or 0
    batch = Batch.objects.create(number=last + 1, title=title, created_at=at, created_by=by, **facts)
    before: Stage | None = None
    for order, (kind, settings) in enumerate(steps, start=1):
        stage = Stage.objects.create(batch=batch, order=order, kind=kind, settings=dict(settings))
        if before is not None:
            stage.after.add(before)
        before = stage
    open_stage(batch.stages.get(order=1), at=at, moves=Moves())
    return batch

"""Back to where things stood: stages, vessels and the batch's state as before an act."""

from __future__ import annotations

from typing import Any

from batches.logbook.acts import batches_of
from batches.logbook.stages import lock_batches
from batches.logbook.vessels import sit_again
from batches.models import Batch, Occupancy, Stage, StageAct


def lock_for_undo(act: StageAct) -> StageAct:
    """The act, fresh, after every batch it moved is locked: no act slips in between look and undoing."""
    lock_batches(batches_of(act.stage, act.data))
    return StageAct.objects.select_for_update(of=("self",)).select_related("stage__batch").get(pk=act.pk)


def undo_moves(act: StageAct) -> None:
    """Put stages, vessels and the batch's state back to where they stood before `act`."""
    moved: dict[str, list[Any]] = act.data.get("moved", {})
    for batch_id, before in reversed(moved.get("states", [])):
        Batch.objects.filter(pk=batch_id).update(state=before)
    for stage_id, before in moved.get("skipped", []):
        Stage.objects.filter(pk=stage_id).update(state=before)
    for stage_id, before in moved.get("settings", []):
        Stage.objects.filter(pk=stage_id).update(settings=before)
    Stage.objects.filter(pk__in=moved.get("opened", [])).update(state=Stage.State.WAITING, opened_at=None)
    Stage.objects.filter(pk__in=moved.get("finished", [])).update(state=Stage.State.OPEN, done_at=None)
    Occupancy.objects.filter(pk__in=moved.get("took", [])).delete()
    sit_again(Occupancy.objects.filter(pk__in=moved.get("freed", [])).select_related("vessel"))

"""Steps and batches, locked and moved on."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from batches.logbook.moves import Moves
from batches.models import Batch, Stage
from batches.stages import kind_of
from workshop import capture
from workshop.errors import Refused


def lock_batches(batches: Iterable[int]) -> dict[int, Batch]:
    """Batches by id, locked in one order: every act locks its batch first, then its steps, then vessels."""
    rows = Batch.objects.select_for_update().filter(pk__in=set(batches)).order_by("pk")
    return {batch.pk: batch for batch in rows}


def lock_stage(stage: Stage, *, needs: str = Stage.State.OPEN) -> Stage:
    """The stage, locked and fresh. Refused when it is not at the point where the act belongs."""
    batch = lock_batches([stage.batch_id])[stage.batch_id]
    fresh = Stage.objects.select_for_update().get(pk=stage.pk)
    fresh.batch = batch
    if fresh.state == needs:
        return fresh
    title = kind_of(fresh.kind).title
    if fresh.state == Stage.State.WAITING:
        raise Refused(f"“{title}” has not begun: the step before it is not finished.")
    if fresh.state == Stage.State.DONE:
        raise Refused(f"“{title}” is finished. Undo what finished it to change it.")
    raise Refused(f"“{title}” was left out in this batch.")


def moment(stage: Stage, *, at: datetime, happened_at: datetime | None) -> datetime:
    """When an act happened: as said, or when its entry was made. Refused before its step and in time to come.

    Raises `ValueError` for a time without a zone.
    """
    when = happened_at or at
    if when.tzinfo is None:
        raise ValueError("a time has a zone")
    if happened_at is None:
        return happened(stage, when)
    if when > at:
        raise Refused("Happened at: that is still to come.", field="happened_at")
    if stage.opened_at is not None and when < stage.opened_at:
        raise Refused("Happened at: that is before this step began.", field="happened_at")
    return when


def happened(stage: Stage, at: datetime) -> datetime:
    """`at`, or when the entry was made on a tablet. Refused when that is before the step began."""
    when = capture.happened(at)
    if when < at and stage.opened_at is not None and when < stage.opened_at:
        raise Refused(
            f"This entry was made on the tablet at {_clock(when)}, before this step began at "
            f"{_clock(stage.opened_at)}. If it belongs to this step, enter it anew; if not, give it up."
        )
    return when


def _clock(moment: datetime) -> str:
    return f"{timezone.localtime(moment):%H:%M on %-d %B}"


def finish_stage(stage: Stage, *, at: datetime, moves: Moves, skipped: bool = False) -> None:
    """Close a stage and open those that waited only for it; a batch whose stages are all closed is done."""
    stage.state = Stage.State.SKIPPED if skipped else Stage.State.DONE
    stage.done_at = at
    stage.save(update_fields=["state", "done_at"])
    moves.finished.append(stage.pk)
    for waiting in stage.before.filter(state=Stage.State.WAITING):
        if not waiting.after.exclude(state__in=[Stage.State.DONE, Stage.State.SKIPPED]).exists():
            open_stage(waiting, at=at, moves=moves)
    batch = stage.batch
    closed = [Stage.State.DONE, Stage.State.SKIPPED]
    if not batch.stages.exclude(state__in=closed).exists():
        set_batch_state(batch, Batch.State.DONE, moves=moves)


def open_stage(stage: Stage, *, at: datetime, moves: Moves) -> None:
    """Open a stage that waited."""
    stage.state, stage.opened_at = Stage.State.OPEN, at
    stage.save(update_fields=["state", "opened_at"])
    moves.opened.append(stage.pk)


def set_batch_state(batch: Batch, state: str, *, moves: Moves) -> None:
    """Move the batch's own state, remembering the one before."""
    if batch.state == state:
        return
    moves.states.append([batch.pk, batch.state])
    batch.state = state
    batch.save(update_fields=["state"])


def end_batch(batch: Batch, *, at: datetime, moves: Moves, state: str) -> None:
    """Leave out every stage that is not finished and set the batch's state."""
    for stage in batch.stages.exclude(state__in=[Stage.State.DONE, Stage.State.SKIPPED]):
        moves.skipped.append([stage.pk, stage.state])
        stage.state = Stage.State.SKIPPED
        stage.save(update_fields=["state"])
    set_batch_state(batch, state, moves=moves)

"""The acts themselves: the only writer of their rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from batches import bell
from batches.logbook.lots import serves, source_of
from batches.logbook.moves import Moves
from batches.logbook.stages import happened
from batches.models import Batch, Stage, StageAct
from inventory.ledger import Line, post
from workshop import capture
from workshop.people.models import Person


def log(
    *,
    stage: Stage,
    act: str,
    caption: str,
    by: Person,
    at: datetime,
    recorded_at: datetime,
    data: dict[str, Any] | None = None,
    reason: str = "",
    posting: Any = None,
    moves: Moves | None = None,
    undoes: StageAct | None = None,
) -> StageAct:
    """Write one act, settle the reminders it answers, and bring those of all it moved in step.

    An entry that waited on a tablet happened when it was made there. Refused when that is before its step.
    """
    kept = dict(data or {}) | capture.told()
    at = happened(stage, at)
    if moves is not None and moves.stored():
        kept["moved"] = moves.stored()
    if undoes is None and (dues := bell.settle_by(stage, act, by, at)):
        kept["dues"] = dues
    row = StageAct.objects.create(
        stage=stage,
        act=act,
        caption=caption[:300],
        reason=reason,
        data=kept,
        posting=posting,
        undoes=undoes,
        at=at,
        recorded_at=recorded_at,
        by=by,
    )
    _ring(stage, undoes.data if undoes is not None else kept, at, undone=undoes is not None)
    return row


def post_and_log(
    *,
    stage: Stage,
    act: str,
    kind: str,
    lines: Sequence[Line],
    caption: str,
    by: Person,
    when: datetime,
    at: datetime,
    data: dict[str, Any],
    reason: str = "",
    moves: Moves | None = None,
    uses_of: Batch | None = None,
) -> StageAct:
    """One posting of `kind` and the act that tells of it. `when` it happened, `at` it was written down.

    In-process lots of the stage's own batch may be used, or those of `uses_of`. The stage is locked: acts
    are only ever added, so that no key comes twice. Raises `Refused` as `inventory.ledger.post` does.
    """
    posting = post(
        kind=kind,
        lines=lines,
        by=by,
        at=when,
        recorded_at=at,
        key=f"act:{stage.pk}:{stage.acts.count()}",
        caption=caption,
        reason=reason,
        source=source_of(stage),
        serves=serves(uses_of or stage.batch),
    )
    return log(
        stage=stage,
        act=act,
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        reason=reason,
        posting=posting,
        moves=moves,
    )


def batches_of(stage: Stage, data: Mapping[str, Any]) -> list[int]:
    """Ids of the batches that an act moved: its own, and one that was poured over or ended."""
    return sorted({stage.batch_id, *(batch for batch, _ in data.get("moved", {}).get("states", []))})


def _ring(stage: Stage, data: Mapping[str, Any], at: datetime, *, undone: bool) -> None:
    if "moved" in data or undone:
        for batch in Batch.objects.filter(pk__in=batches_of(stage, data)).order_by("pk"):
            bell.ring_batch(batch, at)
    elif any(plan.begins_with for plan in bell.plans_of(stage)):
        bell.ring(stage, at)

"""The only door to a batch's acts: what was done, which stages it moved, which vessels it took or freed.

Every act keeps in `data["moved"]` what it changed, so that undoing is mechanical (`undo_act`). Actions
call this; it calls no action.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db.backends.postgresql.psycopg_any import DateTimeTZRange

from batches import bell
from batches.models import Batch, BatchLot, Occupancy, Stage, StageAct, Vessel
from batches.stages import kind_of
from inventory.ledger import Source
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material
from workshop.errors import Refused
from workshop.people.models import Person

IN_PROCESS = Decision.Status.IN_PROCESS


@dataclass(slots=True)
class Moves:
    """What one act changed beside stock; kept as plain ids in the act's data."""

    finished: list[int] = field(default_factory=list)
    opened: list[int] = field(default_factory=list)
    took: list[int] = field(default_factory=list)
    freed: list[int] = field(default_factory=list)
    skipped: list[list[Any]] = field(default_factory=list)
    states: list[list[Any]] = field(default_factory=list)
    settings: list[list[Any]] = field(default_factory=list)

    def stored(self) -> dict[str, list[Any]]:
        return {name: ids for name in self.__slots__ if (ids := getattr(self, name))}


def source_of(stage: Stage) -> Source:
    """How postings of a stage name it."""
    return Source("stage", str(stage.pk))


def serves(batch: Batch) -> Source:
    """What in-process lots of a batch serve."""
    return Source("batch", str(batch.pk))


def lock_stage(stage: Stage, *, needs: str = Stage.State.OPEN) -> Stage:
    """The stage, locked and fresh. Refused when it is not at the point where the act belongs."""
    fresh = Stage.objects.select_for_update().select_related("batch").get(pk=stage.pk)
    if fresh.state == needs:
        return fresh
    title = kind_of(fresh.kind).title
    if fresh.state == Stage.State.WAITING:
        raise Refused(f"“{title}” has not begun: the step before it is not finished.")
    if fresh.state == Stage.State.DONE:
        raise Refused(f"“{title}” is finished. Undo what finished it to change it.")
    raise Refused(f"“{title}” was left out in this batch.")


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
    """Write one act."""
    kept = dict(data or {})
    if moves is not None and moves.stored():
        kept["moved"] = moves.stored()
    if undoes is None and (dues := bell.settle_by(stage, act, by, at)):
        kept["dues"] = dues
    row = StageAct.objects.create(
        stage=stage,
        act=act,
        caption=caption,
        reason=reason,
        data=kept,
        posting=posting,
        undoes=undoes,
        at=at,
        recorded_at=recorded_at,
        by=by,
    )
    if "moved" in kept or undoes is not None:
        bell.ring_batch(stage.batch, at)
    elif any(plan.begins_with for plan in bell.plans_of(stage)):
        bell.ring(stage, at)
    return row


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


def take_vessel(
    vessel: Vessel, stage: Stage, *, lot: Lot | None, at: datetime, moves: Moves, field: str = "vessel"
) -> Occupancy:
    """Occupy a vessel from `at` on. Refused when another batch is in it."""
    Vessel.objects.select_for_update().get(pk=vessel.pk)
    other = (
        Occupancy.objects.filter(vessel=vessel, during__endswith__isnull=True)
        .select_related("stage__batch")
        .first()
    ) or Occupancy.objects.filter(vessel=vessel, during__endswith__gt=at).select_related(
        "stage__batch"
    ).first()
    if other is not None:
        raise Refused(
            f"{vessel.get_form_display()} {vessel.tag} holds {other.stage.batch}. Take another vessel.",
            field=field,
        )
    row = Occupancy.objects.create(
        vessel=vessel, stage=stage, lot=lot, during=DateTimeTZRange(at, None, "[)")
    )
    moves.took.append(row.pk)
    return row


def free_vessels(occupancies: Iterable[Occupancy], *, at: datetime, moves: Moves) -> None:
    """End occupancies at `at`."""
    for row in occupancies:
        end = max(at, row.during.lower + timedelta(seconds=1))
        row.during = DateTimeTZRange(row.during.lower, end, "[)")
        row.save(update_fields=["during"])
        moves.freed.append(row.pk)


def current_vessels(batch: Batch, *, lot: Lot | None = None) -> list[Occupancy]:
    """Who of the batch sits where now."""
    rows = Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True)
    if lot is not None:
        rows = rows.filter(lot=lot)
    return list(rows.select_related("vessel__place").order_by("pk"))


def batch_lot(
    *,
    batch: Batch,
    stage: Stage,
    role: str,
    by: Person,
    at: datetime,
    material: Material | None = None,
    status: str = IN_PROCESS,
    origin: str = Lot.Origin.MADE,
    **facts: Any,
) -> Lot:
    """A new lot that this batch makes, bound to it until the owner releases it."""
    lot = new_lot(
        material=material or _in_process_material(batch, role),
        origin=origin,
        status=status,
        by=by,
        at=at,
        serves_kind="batch",
        serves_ref=str(batch.pk),
        **facts,
    )
    BatchLot.objects.create(batch=batch, stage=stage, lot=lot, role=role)
    return lot


def _in_process_material(batch: Batch, role: str) -> Material:
    herb = batch.herb.name if batch.herb else batch.title
    kind = Material.Kind.BULK if role in (BatchLot.Role.BULK,) else Material.Kind.IN_PROCESS
    name = f"{herb}, {BatchLot.Role(role).label.lower()}"
    found, _ = Material.objects.get_or_create(
        name=name,
        part="",
        kind=kind,
        defaults={"quarantine": False, "tint": batch.herb.tint if batch.herb else ""},
    )
    return found


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
    for row in Occupancy.objects.filter(pk__in=moved.get("freed", [])):
        _sit_again(row)


def _sit_again(row: Occupancy) -> None:
    taken = Occupancy.objects.filter(vessel=row.vessel, during__fully_gt=row.during).exists()
    if taken:
        raise Refused(f"{row.vessel.get_form_display()} {row.vessel.tag} is in use by another batch since.")
    row.during = DateTimeTZRange(row.during.lower, None, "[)")
    row.save(update_fields=["during"])

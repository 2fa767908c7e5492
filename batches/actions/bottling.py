"""Bottling runs: opened from a bulk lot, closed with every label accounted for, or dropped."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, BottlingRun, Stage, StageAct
from batches.queries import bottling as look
from batches.runbook import keep_on_bench, leave_bench, locked, tell, there
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material, Place
from inventory.queries.lots import status_of
from workshop.calc.rounding import many, show
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def open_run(
    *,
    bulk: Lot,
    bottle: Lot,
    place: Place,
    by: Person,
    at: datetime,
    closure: Lot | None = None,
    fill: Quantity | None = None,
    planned: int | None = None,
    best_before: date | None = None,
    stage: Stage | None = None,
) -> BottlingRun:
    """Open a run from a bulk lot. Its finished lot gets its code now, so that labels can be printed.

    `fill` is the content on the label; `planned` bottles default to what the bulk gives. `best_before`
    may be earlier than the formula's months, never later. Nothing is taken from stock yet.
    """
    batch = stage.batch if stage is not None else look.batch_of(bulk)
    on_hand = there(bulk)
    _refuse_foreign(bulk, batch)
    fill_ml = float(fill.base) if fill is not None else _usual_fill(batch)
    _refuse_small_bottle(bottle, fill_ml)
    count = planned or _planned(bulk, on_hand, fill_ml, batch)
    until = _until(bulk, batch, best_before)
    product = _product(batch, bulk, fill_ml)
    lot = new_lot(
        material=product,
        origin=Lot.Origin.BOTTLED,
        status=Decision.Status.QUARANTINE,
        by=by,
        at=at,
        best_before=until,
        fill_ml=fill_ml,
    )
    run = BottlingRun.objects.create(
        bulk=bulk,
        batch=batch,
        product=product,
        bottle=bottle,
        closure=closure,
        place=place,
        fill_ml=fill_ml,
        planned=count,
        best_before=until,
        finished=lot,
        opened_at=at,
        opened_by=by,
    )
    keep_on_bench(run)
    if batch is not None:
        BatchLot.objects.create(batch=batch, stage=look.bottle_stage(batch), lot=lot, role="finished")
    tell(run, "open_run", f"Opened a bottling run: {count} × {show(fill_ml, 'mL', 1)}, lot {lot}", by, at)
    return run


@transaction.atomic
def drop_run(*, run: BottlingRun, by: Person, at: datetime, reason: str) -> BottlingRun:
    """Give up a run before anything was filled. Its lot's code is never used again."""
    run = locked(run, BottlingRun.State.OPEN)
    if not reason.strip():
        raise Refused("Write why the run is dropped.", field="reason")
    run.state, run.closed_at = BottlingRun.State.DROPPED, at
    run.save(update_fields=["state", "closed_at"])
    printed = look.printed_of(run)
    more = f"; its {printed} printed labels are destroyed" if printed else ""
    tell(run, "run_dropped", f"Dropped the bottling run of {run.finished}{more}", by, at, reason=reason)
    return run


@transaction.atomic
def close_run(
    *, run: BottlingRun, by: Person, at: datetime, spoiled_labels: int, left_labels: int, reason: str = ""
) -> BottlingRun:
    """Close a filled and labelled run: printed labels = on bottles + spoiled + left over (destroyed).

    Refused before labels were printed, and when the counts do not meet, unless a reason says why.
    """
    run = locked(run, BottlingRun.State.FILLED)
    printed = look.printed_of(run)
    if not printed:
        raise Refused("No labels were printed in this run yet. Print and put them on, then close it.")
    account = look.LabelAccount(printed, run.filled or 0, spoiled_labels, left_labels)
    if account.missing and not reason.strip():
        more = "missing" if account.missing > 0 else "too many"
        raise Refused(
            f"{many(printed, 'label')} printed; {account.on_bottles:,} on bottles, {spoiled_labels} spoiled "
            f"and {left_labels} left: {abs(account.missing)} {more}. Count again, or write what happened.",
            field="reason" if reason else "left_labels",
        )
    run.state, run.closed_at, run.spoiled_labels = BottlingRun.State.CLOSED, at, spoiled_labels
    run.facts = run.facts | {
        "labels": {"printed": printed, "left": left_labels, "missing": account.missing, "reason": reason}
    }
    run.save(update_fields=["state", "closed_at", "spoiled_labels", "facts"])
    leave_bench(run)
    caption = f"Labels of {run.finished} accounted for: {printed} printed, {account.on_bottles} on bottles"
    tell(run, "run_closed", caption, by, at, reason=reason)
    return run


@transaction.atomic
def all_bottled(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """The bottling of a batch is over. What is left stays bulk; the owner may release it for other work."""
    stage = logbook.lock_stage(stage)
    runs = look.runs_of(stage.batch)
    waiting = look.open_runs(stage.batch)
    if waiting:
        codes = ", ".join(str(run.finished) for run in waiting)
        raise Refused(f"A bottling run is not closed yet: {codes}. Close or drop it first.")
    if not any(run.state == BottlingRun.State.CLOSED for run in runs):
        raise Refused("Nothing was bottled yet. Open a run first.")
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=happened_at or at, moves=moves)
    return logbook.log(
        stage=stage,
        act="all_bottled",
        caption="The bottling is over",
        by=by,
        at=happened_at or at,
        recorded_at=at,
        moves=moves,
    )


def _refuse_foreign(bulk: Lot, batch: Batch | None) -> None:
    """Bulk that still serves its own batch is not bottled by another."""
    status = status_of(bulk)
    own = batch is not None and bulk.serves_ref == str(batch.pk)
    if status == Decision.Status.RELEASED or (status == Decision.Status.IN_PROCESS and own):
        return
    if status == Decision.Status.IN_PROCESS:
        raise Refused(
            f"Lot {bulk} belongs to another batch until the owner releases it as bulk.", field="bulk"
        )
    word = Decision.Status(status).label.lower()
    raise Refused(f"Lot {bulk} is {word}, so it cannot be bottled. The owner can release it.", field="bulk")


def _usual_fill(batch: Batch | None) -> float:
    if batch is None or batch.version is None:
        raise Refused("Content: say how many mL one bottle holds.", field="fill")
    return batch.version.fill_ml


def _refuse_small_bottle(bottle: Lot, fill_ml: float) -> None:
    holds = bottle.material.fill_ml
    if holds is not None and fill_ml > holds:
        raise Refused(
            f"{bottle.material} holds {show(holds, 'mL', 1)}; {show(fill_ml, 'mL', 1)} does not fit. "
            "Take larger bottles or fill less.",
            field="bottle",
        )


def _planned(bulk: Lot, on_hand: Decimal, fill_ml: float, batch: Batch | None) -> int:
    try:
        plan = look.plan_of(bulk, on_hand, fill_ml=fill_ml, loss=look.loss_of(batch))
    except OutOfRange as reason:
        raise Refused(str(reason), field="fill") from reason
    if plan is None or plan.bottles < 1:
        raise Refused("Bottles: say how many you mean to fill.", field="planned")
    return plan.bottles


def _until(bulk: Lot, batch: Batch | None, typed: date | None) -> date:
    rule = look.keeps_until(bulk, batch)
    if rule is None and typed is None:
        raise Refused("Best before: there is no formula to take it from. Say a date.", field="best_before")
    if rule is not None and typed is not None and typed > rule:
        raise Refused(
            f"Best before: the formula ends at {rule.day} {rule:%b %Y}, counted from the day this bulk was "
            "made. An earlier date may be set, not a later one.",
            field="best_before",
        )
    return typed or rule  # type: ignore[return-value]


def _product(batch: Batch | None, bulk: Lot, fill_ml: float) -> Material:
    """What the formula makes; a trial or a found liquid gets goods of its own name."""
    if batch is not None and batch.version is not None:
        return batch.version.formula.product
    name = f"{batch.title}, trial" if batch is not None else bulk.material.name
    found, _ = Material.objects.get_or_create(
        name=name[:1].upper() + name[1:],
        part="",
        kind=Material.Kind.PRODUCT,
        defaults={"measured": Material.Measured.COUNT, "fill_ml": fill_ml},
    )
    return found

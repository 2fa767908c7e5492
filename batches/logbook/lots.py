"""The lots that a batch makes, and what it draws from others."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from batches.models import Batch, BatchLot, Stage
from batches.queries.stock import places_of
from inventory.ledger import Line, Source
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material
from workshop.people.models import Person

IN_PROCESS = Decision.Status.IN_PROCESS


def source_of(stage: Stage) -> Source:
    """How postings of a stage name it."""
    return Source("stage", str(stage.pk))


def serves(batch: Batch) -> Source:
    """What in-process lots of a batch serve."""
    return Source("batch", str(batch.pk))


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


def draw(
    lot: Lot, amount: Decimal, *, pure_ml: float | None = None, as_entered: dict[str, Any] | None = None
) -> list[Line]:
    """Lines that take `amount` (g or units) of a lot, from as many places as it takes.

    `pure_ml` is the pure alcohol that goes with all of it, mL at 20 °C; None when it is not known.
    """
    return [
        Line(
            -part,
            lot,
            place,
            pure_ml=-pure_ml * (float(part / amount) if amount else 1.0) if pure_ml is not None else None,
            as_entered=as_entered or {},
        )
        for place, part in places_of(lot, amount)
    ]

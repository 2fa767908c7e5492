"""Where a result of the Reckoner can go on: open stages with the act that takes it."""

from __future__ import annotations

from batches.models import Batch, BatchLot, Stage
from batches.queries.batch import acts_at
from batches.stages import kinds
from inventory.models.postings import Stock

Role = BatchLot.Role
LIQUIDS = (Role.MENSTRUUM, Role.TINCTURE, Role.FRACTION, Role.EXTRACT, Role.COMBINED, Role.BULK)
GOING = (Batch.State.PLANNED, Batch.State.RUNNING)


def stages_for(act: str) -> list[Stage]:
    """Open stages of batches not yet done at which `act` can be done, the latest batch first."""
    fitting = [name for name, kind in kinds().items() if act in kind.acts]
    found = (
        Stage.objects.filter(state=Stage.State.OPEN, kind__in=fitting, batch__state__in=GOING)
        .select_related("batch__version__formula", "batch__herb")
        .prefetch_related("batch__stages")
        .order_by("-batch__number", "order")
    )
    return [stage for stage in found if act in acts_at(stage)]


def liquids_standing() -> list[BatchLot]:
    """Liquids of batches not yet done that a hydrometer may float in, the latest batch first."""
    there = Stock.objects.filter(on_hand__gt=0).values("lot")
    rows = BatchLot.objects.filter(batch__state__in=GOING, role__in=LIQUIDS, lot__in=there)
    found = rows.select_related("batch__version__formula", "batch__herb", "lot__material")
    return list(found.order_by("-batch__number", "-pk"))

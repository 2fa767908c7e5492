"""What a batch cost, and what a plan would cost, in the workshop's money."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from batches.models import Batch, BatchLot
from batches.queries.plans import Answer
from inventory.calc.costing import Cost
from inventory.models import Lot
from inventory.queries.costs import cost_of, cost_of_group, forecast


@dataclass(frozen=True, slots=True)
class BatchCost:
    """All that went into a batch from outside of it, and each lot of bottles by itself."""

    whole: Cost
    bottled: tuple[tuple[Lot, Cost], ...]


def cost_of_batch(batch: Batch, currency: str) -> BatchCost:
    rows = list(batch.lots.select_related("lot__material"))
    finished = [row.lot for row in rows if row.role == BatchLot.Role.FINISHED]
    whole = cost_of_group([row.lot_id for row in rows], currency)
    return BatchCost(whole, tuple((lot, cost_of(lot, currency)) for lot in finished))


@dataclass(frozen=True, slots=True)
class PlanCost:
    """What a plan takes, at what was paid; `borrowed` are the lots whose price stands in for another's."""

    cost: Cost
    borrowed: tuple[Lot, ...]


def cost_of_plan(answer: Answer | None, currency: str) -> PlanCost | None:
    """None while there is nothing reckoned to take, or the workshop keeps no prices."""
    if not currency or answer is None or answer.solved is None:
        return None
    takes = []
    for need in answer.needs:
        if need.material is None:
            continue
        takes += [(need.material, lot, Decimal(repr(float(much)))) for lot, much in need.takes]
        if not need.takes:
            takes.append((need.material, None, Decimal(repr(float(need.wanted)))))
    return PlanCost(*forecast(takes, currency=currency, bottles=answer.solved.bottles))

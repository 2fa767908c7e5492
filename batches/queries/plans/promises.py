"""What planned batches have been promised and have not taken yet. A promise is soft: it warns."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from batches.models import Batch
from workshop.measures import measures


@dataclass(slots=True)
class Promises:
    """By lot id: who was promised how much (g or units). By vessel id: who was promised it."""

    lots: dict[int, list[tuple[Batch, float]]] = field(default_factory=lambda: defaultdict(list))
    vessels: dict[int, Batch] = field(default_factory=dict)

    def of_lot(self, lot_id: int) -> float:
        return sum(amount for _, amount in self.lots.get(lot_id, []))

    def words(self, lot_id: int, unit: str) -> str:
        """Who was promised how much: "180 g to Batch 3, Turkey tail"."""
        own, rows = measures(), self.lots.get(lot_id, [])
        said = [f"{own.shown(amount, unit, 0)} to {batch}" for batch, amount in rows]
        return " and ".join(said)


def promises() -> Promises:
    """All that planned batches wait for."""
    found = Promises()
    for batch in Batch.objects.filter(state=Batch.State.PLANNED).order_by("number"):
        plan = batch.plan
        for one in plan.get("lots", []):
            found.lots[one["lot"]].append((batch, float(one["amount"])))
        if "lots" not in plan and plan.get("herb_lot"):
            found.lots[plan["herb_lot"]].append((batch, float(plan["herb_g"])))
        if plan.get("vessel"):
            found.vessels[plan["vessel"]] = batch
    return found

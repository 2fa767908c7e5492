"""The liquid of a batch that a filter takes: the furthest there is of it."""

from __future__ import annotations

from batches.models import Batch, BatchLot
from batches.queries.batch import HeldLot, lot_in_role

FURTHEST_FIRST = (
    BatchLot.Role.BULK,
    BatchLot.Role.COMBINED,
    BatchLot.Role.TINCTURE,
    BatchLot.Role.EXTRACT,
)


def liquid_of(batch: Batch) -> HeldLot | None:
    """The bulk lot, else the combined liquid, the tincture, the extract; None while there is none."""
    found = (lot_in_role(batch, role) for role in FURTHEST_FIRST)
    return next((held for held in found if held is not None), None)


def pure_ml(held: HeldLot) -> float | None:
    """Its pure alcohol, mL at 20 °C; None where strength or density are not known."""
    if held.lot.abv is None or not held.lot.density_20:
        return None
    return float(held.on_hand) / held.lot.density_20 * 1000 * held.lot.abv / 100

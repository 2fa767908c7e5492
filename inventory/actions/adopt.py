"""Taking into the book what stands on the shelf already; what is not known stays unknown."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.ledger import Line, Strength, post
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material, Place
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def adopt_lot(
    *,
    material: Material,
    place: Place,
    by: Person,
    at: datetime,
    key: str,
    amount: Decimal | None = None,
    strength: Strength | None = None,
    pure_ml: float | None = None,
    moisture: float | None = None,
    supplier_lot: str = "",
    best_before: date | None = None,
    note: str = "",
    as_entered: dict[str, Any] | None = None,
) -> Lot:
    """A lot found on the shelf. `amount` in g or units; without one the lot waits for its first count.

    Its past is unknown, so it waits in quarantine if its goods do.
    """
    if not material.metered:
        raise Refused(f"{material} comes from the tap and is always there.", field="material")
    if amount is not None and amount <= 0:
        raise Refused("Amount: leave it empty if it is not known.", field="amount")
    waits = material.quarantine
    lot = new_lot(
        material=material,
        origin=Lot.Origin.ADOPTED,
        status=Decision.Status.QUARANTINE if waits else Decision.Status.RELEASED,
        by=by,
        at=at,
        supplier_lot=supplier_lot,
        best_before=best_before,
        moisture=moisture,
        fill_ml=material.fill_ml,
        note=note,
    )
    much = "An amount not yet known" if amount is None else in_words(amount, counted=material.counted)
    line = Line(
        amount=amount or Decimal(0),
        lot=lot,
        place=place,
        strength=strength,
        sets_strength=strength is not None,
        pure_ml=pure_ml,
        as_entered=as_entered or {},
    )
    post(
        kind="adopted",
        lines=[line],
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=f"{much} of {material} was found at {place} and taken into the book.",
    )
    return lot

"""Moving a lot, or part of it, to another place."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.calc.volumes import pure_ml
from inventory.ledger import Line, post
from inventory.models import Lot, Place
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def move_lot(
    *,
    lot: Lot,
    from_place: Place,
    to_place: Place,
    amount: Decimal,
    by: Person,
    at: datetime,
    key: str,
    mass_g: Decimal | None = None,
    as_entered: dict[str, Any] | None = None,
) -> None:
    """Move `amount` (g or units) of a lot. Refused to the same place, or when there is not that much.

    `mass_g` is the content of the moved units of a filled counted lot.
    """
    if from_place == to_place:
        raise Refused("It stands there already. Choose another place.", field="to_place")
    if amount <= 0:
        raise Refused("Amount: write how much is moved, more than nothing.", field="amount")
    pure = pure_ml(float(amount), lot.abv) if lot.abv is not None and not lot.material.counted else None
    gone = Line(-amount, lot, from_place, mass_g=_less(mass_g), pure_ml=None if pure is None else -pure)
    come = Line(amount, lot, to_place, mass_g=mass_g, pure_ml=pure, as_entered=as_entered or {})
    much = in_words(amount, counted=lot.material.counted)
    post(
        kind="moved",
        lines=[gone, come],
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=f"Moved {much} of {lot.material} ({lot.code}) from {from_place} to {to_place}.",
    )


def _less(mass_g: Decimal | None) -> Decimal | None:
    return None if mass_g is None else -mass_g

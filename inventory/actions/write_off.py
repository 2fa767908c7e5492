"""Writing off what is no longer there, or no longer good, under its name."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.calc.kinds import LOSSES
from inventory.calc.volumes import pure_ml
from inventory.ledger import Line, post
from inventory.models import Lot, Place
from inventory.queries.lots import at_place
from workshop.errors import Refused
from workshop.people.models import Person

CAUSES = {
    "dust": "The bag is empty: dust and crumbs",
    "gone_bad": "Gone bad, thrown away",
    "spilled": "Spilled",
    "broken": "Broken",
    "sample": "Taken as a sample",
    "unexplained": "Missing, nobody knows why",
}


@transaction.atomic
def write_off(
    *,
    lot: Lot,
    place: Place,
    cause: str,
    by: Person,
    at: datetime,
    key: str,
    amount: Decimal | None = None,
    reason: str = "",
    as_entered: dict[str, Any] | None = None,
) -> Decimal:
    """Write off `amount` (g or units; all the book says is there when not given). Returns what went."""
    Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    gone = at_place(lot, place) if amount is None else amount
    if gone <= 0:
        raise Refused(f"There is nothing of lot {lot.code} at {place} to write off.", field="amount")
    if cause not in CAUSES:
        raise Refused("Choose what happened to it.", field="cause")
    if cause == "unexplained" and not reason.strip():
        raise Refused("Write what is known about it, if only where it was last seen.", field="reason")
    counted = lot.material.counted
    mass_g = Decimal(0) if counted else gone
    much = in_words(gone, counted=counted)
    pure = pure_ml(float(gone), lot.abv) if lot.abv is not None and not counted else None
    post(
        kind="written_off",
        lines=[
            Line(
                -gone,
                lot,
                place,
                mass_g=-mass_g,
                pure_ml=None if pure is None else -pure,
                as_entered=as_entered or {},
            ),
            Line(gone, loss_kind=cause, mass_g=mass_g, pure_ml=pure),
        ],
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=f"Wrote off {much} of {lot.material} ({lot.code}) at {place}: {LOSSES[cause]}.",
        reason=reason.strip(),
    )
    return gone

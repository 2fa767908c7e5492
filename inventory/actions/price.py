"""What was paid for a lot, noted after it came in, or put right."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory import lotbook
from inventory.models import Lot, Price
from inventory.queries.costs import came_in, money
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person

BOUGHT = (Lot.Origin.RECEIVED, Lot.Origin.ADOPTED, Lot.Origin.HARVESTED)


@transaction.atomic
def price_lot(
    *, lot: Lot, paid: Decimal, by: Person, at: datetime, as_entered: dict[str, Any] | None = None
) -> Price:
    """`paid` for all of a lot as it came in, in the workshop's money; the latest price stands.

    Only the owner. Raises `Refused` for what was made here, and while the workshop keeps no prices.
    """
    if not rights.may(by, rights.OWN):
        raise Refused(rights.refusal(rights.OWN))
    currency, amount = money(), came_in(lot)
    if not currency:
        raise Refused(
            "This workshop keeps no prices yet. Choose its money on the page of the workshop first."
        )
    if lot.origin not in BOUGHT or amount <= 0:
        raise Refused(f"Lot {lot.code} was not bought: it costs what went into it.")
    return lotbook.price(
        lot=lot, paid=paid, amount=amount, currency=currency, by=by, at=at, as_entered=as_entered
    )

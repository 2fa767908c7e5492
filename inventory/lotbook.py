"""New lots: a code that was never used, the first decision, and what was paid. Stock comes by the ledger."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.codes import LETTERS, code_for
from inventory.models import Decision, Lot, Material, Place, Price, Serial
from workshop.people.models import Person

BENCH = "run"  # what a lot serves while it is on the bottling bench, not yet labelled


@transaction.atomic
def new_lot(
    *, material: Material, origin: str, status: str, by: Person, at: datetime, reason: str = "", **facts: Any
) -> Lot:
    """A lot of `material` with the next free code of its kind and year, and its first decision.

    `facts` are fields of `Lot` (supplier, best_before, moisture, serves_kind ...). Holds no stock yet.
    """
    code = _next_code(material.kind, at.year)
    lot = Lot.objects.create(
        code=code, material=material, origin=origin, created_at=at, created_by=by, **facts
    )
    Decision.objects.create(lot=lot, status=status, reason=reason, by=by, at=at)
    return lot


def decide(
    *, lot: Lot, status: str, by: Person, at: datetime, reason: str = "", evidence: str = ""
) -> Decision:
    """Append a decision. The lot row is locked first, so a posting in flight sees either before or after."""
    Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    return Decision.objects.create(lot=lot, status=status, by=by, at=at, reason=reason, evidence=evidence)


def price(
    *,
    lot: Lot,
    paid: Decimal,
    amount: Decimal,
    currency: str,
    by: Person,
    at: datetime,
    as_entered: dict[str, Any] | None = None,
) -> Price:
    """Append what was paid for `amount` (g or units) of a lot; the last row stands."""
    return Price.objects.create(
        lot=lot, paid=paid, amount=amount, currency=currency, as_entered=as_entered or {}, by=by, at=at
    )


def _next_code(kind: str, year: int) -> str:
    letter = LETTERS[kind]
    Serial.objects.get_or_create(letter=letter, year=year)
    row = Serial.objects.select_for_update().get(letter=letter, year=year)
    code = None
    while code is None:
        row.last += 1
        code = code_for(kind, year, row.last)
    row.save(update_fields=["last"])
    return code


def tap_water(*, by: Person, at: datetime) -> tuple[Lot, Place]:
    """The perpetual lot of water from the tap and the place it is drawn at: no balance is kept of it."""
    material, _ = Material.objects.get_or_create(
        kind=Material.Kind.WATER,
        name="Tap water",
        part="",
        defaults={"metered": False, "quarantine": False, "density_20": 998.2},
    )
    lot = Lot.objects.filter(material=material, origin=Lot.Origin.TAP).first()
    if lot is None:
        lot = new_lot(
            material=material, origin=Lot.Origin.TAP, status=Decision.Status.RELEASED, by=by, at=at, abv=0.0
        )
    place = Place.objects.filter(archived=False).first() or Place.objects.create(name="Workshop")
    return lot, place

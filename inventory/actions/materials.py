"""Goods: what may be kept in stock."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material
from inventory.models.saving import changed, saved
from workshop.errors import Refused
from workshop.people.models import Person

FIXED = {"measured": "how they are measured", "metered": "whether a balance is kept"}


@transaction.atomic
def add_goods(*, by: Person, at: datetime, **facts: Any) -> Material:
    """New goods. Those without a balance (tap water) get their one perpetual lot at once, released."""
    material = saved(Material(**facts))
    if not material.metered:
        new_lot(
            material=material, origin=Lot.Origin.TAP, status=Decision.Status.RELEASED, by=by, at=at, **_pure()
        )
    return material


def _pure() -> dict[str, Any]:
    return {"note": "From the tap: amounts are recorded, no balance is kept."}


@transaction.atomic
def change_goods(*, material: Material, by: Person, at: datetime, **facts: Any) -> Material:
    """Change goods. Refused where lots already rest on the old way of measuring."""
    for name, words in FIXED.items():
        differs = name in facts and facts[name] != getattr(material, name)
        if differs and Lot.objects.filter(material=material).exists():
            raise Refused(
                f"There are lots of {material} already, so {words} cannot change. Add new goods instead.",
                field=name,
            )
    return changed(material, facts)

"""Goods, places, suppliers and lots of Owlpenny Herbs, each through the action a person would use."""

from __future__ import annotations

import itertools
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from inventory.actions.decide import decide_lot
from inventory.actions.materials import add_goods
from inventory.actions.parties import add_party
from inventory.actions.places import add_place
from inventory.actions.receive import Delivered, receive_delivery
from inventory.calc.volumes import pure_ml
from inventory.ledger import Strength
from inventory.models import Decision, Lot, Material, Party, Place
from tests.builders import NOON, a_workshop, an_owner
from workshop.calc.rounding import to_stock

_keys = itertools.count(1)


def a_key() -> str:
    """A request key that no other call in this process had."""
    return f"test-{next(_keys)}"


def goods(name: str = "Turkey tail", **facts: Any) -> Material:
    """The goods of that name, added once. A fungus kept by mass, quarantined on receipt, unless told."""
    found = Material.objects.filter(name=name).first()
    defaults: dict[str, Any] = {"kind": Material.Kind.FUNGUS}
    return found or add_goods(by=an_owner(), at=NOON, name=name, **(defaults | facts))


def herb(name: str = "Lemon balm", **facts: Any) -> Material:
    return goods(name, **({"kind": Material.Kind.HERB, "part": "leaf"} | facts))


def spirit(name: str = "Grain spirit") -> Material:
    return goods(name, kind=Material.Kind.SPIRIT)


def bottles(name: str = "Bottle, 50 mL") -> Material:
    return goods(
        name, kind=Material.Kind.BOTTLE, measured=Material.Measured.COUNT, fill_ml=50.0, quarantine=False
    )


def tap_water() -> Material:
    return goods("Tap water", kind=Material.Kind.WATER, metered=False, quarantine=False, density_20=998.2)


def a_place(name: str = "North shelf", **facts: Any) -> Place:
    return Place.objects.filter(name=name).first() or add_place(by=an_owner(), at=NOON, name=name, **facts)


def a_supplier(name: str = "Sedge & Sons") -> Party:
    found = Party.objects.filter(name=name).first()
    return found or add_party(by=an_owner(), at=NOON, name=name, is_supplier=True)


def a_lot(
    material: Material | None = None,
    amount: Decimal | float | str = 500,
    *,
    released: bool = True,
    place: Place | None = None,
    abv: float | None = None,
    best_before: date | None = None,
    moisture: float | None = None,
    at: datetime = NOON,
) -> Lot:
    """A received lot of `amount` g or units, released by the owner unless told otherwise."""
    a_workshop()
    stock = to_stock(float(amount))
    lines = [
        Delivered(
            material=material or goods(),
            amount=stock,
            place=place or a_place(),
            best_before=best_before,
            moisture=moisture,
            strength=None if abv is None else Strength(abv, "stated"),
            pure_ml=None if abv is None else pure_ml(float(stock), abv),
        )
    ]
    lot = receive_delivery(
        supplier=a_supplier(), arrived_on=at.date(), lines=lines, by=an_owner(), at=at, key=a_key()
    )[0]
    if released and lot.material.quarantine:
        decide_lot(lot=lot, status=Decision.Status.RELEASED, by=an_owner(), at=at)
    return lot

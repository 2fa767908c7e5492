"""Goods, lots, vessels, formulas and batches for tests, through the real actions wherever there is one."""

from __future__ import annotations

from datetime import date
from typing import Any

from batches.actions.formulas import Recipe, approve_version, create_formula, revise_formula
from batches.actions.plan_batch import plan_batch
from batches.actions.vessels import add_vessel
from batches.models import Batch, FormulaVersion, Vessel
from inventory.models import Decision, Lot, Material, Place
from tests import builders_stock
from tests.builders import NOON, a_workshop, an_owner

Kind = Material.Kind
TODAY = date(2026, 3, 2)


def a_place(name: str = "North shelf", **changes: Any) -> Place:
    return builders_stock.a_place(name, **changes)


def goods(kind: str, name: str, **changes: Any) -> Material:
    counted = kind in (Kind.BOTTLE, Kind.CLOSURE, Kind.PRODUCT)
    facts = {"measured": Material.Measured.COUNT if counted else Material.Measured.MASS} | changes
    return builders_stock.goods(name, kind=kind, **facts)


def turkey_tail() -> Material:
    return goods(Kind.FUNGUS, "Turkey tail", latin_name="Trametes versicolor", tint="#b98d3e")


def spirit() -> Material:
    return goods(Kind.SPIRIT, "Grain spirit")


def tap_water() -> Material:
    return goods(Kind.WATER, "Water", metered=False, quarantine=False)


def bottles() -> Material:
    return goods(Kind.BOTTLE, "Amber bottle 50 mL", fill_ml=50)


def droppers() -> Material:
    return goods(Kind.CLOSURE, "Dropper")


def a_lot(material: Material, amount: float, *, status: str = "released", **facts: Any) -> Lot:
    """`amount` g (or units) of a lot, received into the store room and released unless told otherwise."""
    released = status == Decision.Status.RELEASED
    place = a_place("Store room", kind=Place.Kind.ROOM)
    return builders_stock.a_lot(material, amount, released=released, place=place, **facts)


def a_vessel(tag: str = "K7", capacity_ml: float = 2000, **changes: Any) -> Vessel:
    place = changes.pop("place", None) or a_place()
    return add_vessel(tag=tag, capacity_ml=capacity_ml, place=place, by=an_owner(), at=NOON, **changes)


def turkey_tail_recipe(**changes: Any) -> Recipe:
    """180 g in 900 mL of 80 % vol, combined to 28 % vol; the marc keeps 0.946 mL a dry gram: 760 mL press."""
    parts = {"herb": turkey_tail(), "spirit": spirit(), "water": tap_water(), "pot_water": tap_water()}
    parts |= {"bottle": bottles(), "closure": droppers()}
    facts: dict[str, Any] = {
        "parts": parts,
        "ratio": 5.0,
        "menstruum_abv": 80.0,
        "target_abv": 28.0,
        "retention_ml_per_g": 0.946,
    }
    return Recipe(**(facts | changes))


def a_draft(
    name: str = "Turkey tail double extract", preparation: str = "double", **changes: Any
) -> FormulaVersion:
    a_workshop()
    return create_formula(
        name=name, preparation=preparation, recipe=turkey_tail_recipe(**changes), by=an_owner(), at=NOON
    )


def an_approved_version(**changes: Any) -> FormulaVersion:
    return approve_version(version=a_draft(**changes), by=an_owner(), at=NOON)


def two_versions(**changes: Any) -> tuple[FormulaVersion, FormulaVersion]:
    """The approved first version, and a draft of the next with `changes`."""
    first = an_approved_version()
    changes = changes or {"menstruum_abv": 70.0}
    recipe = turkey_tail_recipe(**changes)
    return first, revise_formula(version=first, recipe=recipe, note="Tried.", by=an_owner(), at=NOON)


def stock_for_turkey_tail() -> dict[str, Lot]:
    """500 g of turkey tail with 9 % moisture, 2 kg of 96 % vol, 100 bottles and droppers, all released."""
    return {
        "herb": a_lot(turkey_tail(), 500, moisture=0.09),
        "spirit": a_lot(spirit(), 2000, abv=96.0),
        "bottle": a_lot(bottles(), 100),
        "closure": a_lot(droppers(), 100),
    }


def a_planned_batch(**changes: Any) -> Batch:
    """180 g planned forwards, with stock, a jar and a pot there."""
    version = an_approved_version()
    stock_for_turkey_tail()
    if not Vessel.objects.filter(tag="K7").exists():
        a_vessel("K7", 2000, tare_g=620)
        a_vessel("P1", 6000, form=Vessel.Form.POT, diameter_cm=24, tare_g=1450)
    facts: dict[str, Any] = {"way": "grams", "herb_g": 180.0, "today": TODAY} | changes
    return plan_batch(version=version, by=an_owner(), at=NOON, **facts)

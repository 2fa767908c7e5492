"""Goods, formulas and batches of every preparation for tests, through the real actions."""

from __future__ import annotations

from typing import Any

from batches.actions.formulas import approve_version, create_formula
from batches.actions.plan_batch import plan_batch
from batches.calc import usual
from batches.models import Batch, FormulaVersion, Vessel
from batches.queries.recipes import Recipe
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_batches import TODAY, a_lot, a_vessel, bottles, goods, spirit, tap_water

BASE: dict[str, dict[str, Any]] = {
    "maceration": {"ratio": 5.0, "menstruum_abv": 60.0},
    "folk": {"menstruum_abv": 60.0},
    "fresh": {"ratio": 2.0, "menstruum_abv": 95.0, "herb_state": "fresh"},
    "percolation": {"ratio": 5.0, "menstruum_abv": 60.0, "retention_ml_per_g": 2.0},
    "double": {"ratio": 5.0, "menstruum_abv": 80.0, "target_abv": 28.0},
    "infusion": {"ratio": 20.0},
    "decoction": {"ratio": 32.0, "stages": {"reduce": {"to_share": 0.5}}},
    "glycerite": {"ratio": 5.0},
    "vinegar": {"ratio": 5.0},
    "oxymel": {"ratio": 5.0},
    "syrup": {"ratio": 20.0, "stages": {"reduce": {"to_share": 0.5}}},
    "oil": {"ratio": 5.0},
    "fluid_extract": {"ratio": 4.0, "menstruum_abv": 60.0, "retention_ml_per_g": 2.0},
}


def herb(name: str = "Thyme", latin: str = "Thymus vulgaris") -> Any:
    return goods("herb", name, latin_name=latin)


def _mild(key: str, ratio: float) -> tuple[dict[str, Any], dict[str, float]]:
    """Parts and shares besides herb and bottle."""
    glycerol, vinegar = goods("glycerol", "Vegetable glycerol"), goods("vinegar", "Cider vinegar")
    oil, honey = goods("oil", "Olive oil"), goods("honey", "Clear honey")
    water: dict[str, Any] = {"water": tap_water()}
    if key == "glycerite":
        shares = {"glycerol": ratio * 0.75 * usual.GLYCEROL, "water": ratio * 0.25 * usual.WATER}
        return water | {"glycerol": glycerol}, shares
    if key in ("vinegar", "oxymel"):
        more = {"sweetener": honey} if key == "oxymel" else {}
        return {"acid": vinegar} | more, {"acid": ratio * usual.VINEGAR, "sweetener": ratio}
    if key == "oil":
        return {"menstruum": oil}, {"menstruum": ratio * usual.OIL}
    return water | ({"sweetener": honey} if key == "syrup" else {}), {"water": ratio, "sweetener": 10.0}


def a_version_of(
    key: str, *, plant: Any = None, name: str = "", parts_too: dict[str, Any] | None = None, **changes: Any
) -> FormulaVersion:
    """An approved version of `key` on thyme, by the trade's usual figures."""
    a_workshop()
    facts = BASE[key] | changes
    parts: dict[str, Any] = {"herb": plant or herb(), "bottle": bottles()}
    shares: dict[str, float] = {}
    if "menstruum_abv" in facts:
        parts |= {"spirit": spirit(), "water": tap_water()}
    else:
        more, shares = _mild(key, facts["ratio"])
        parts |= more
    parts |= parts_too or {}
    recipe = Recipe(**({"parts": parts, "shares": shares} | facts))
    version = create_formula(name=name or f"A {key}", preparation=key, recipe=recipe, by=an_owner(), at=NOON)
    return approve_version(version=version, by=an_owner(), at=NOON)


def stock_of(version: FormulaVersion, *, moisture: float = 0.1, grams: float = 500.0) -> dict[str, Any]:
    """Lots of all that goes in, and a jar: herb of `moisture` (0..1), spirit of 96 % vol."""
    found: dict[str, Any] = {}
    for part in version.parts.all():
        if part.material.metered and part.role not in ("pot_water",):
            facts = {"abv": 96.0} if part.role == "spirit" else {}
            facts |= {"moisture": moisture} if part.role == "herb" else {}
            amount = grams if part.role == "herb" else 20_000
            found[part.role] = a_lot(part.material, amount, **facts)
    if not Vessel.objects.filter(tag="K9").exists():
        a_vessel("K9", 5000)
    return found


def a_planned(key: str, *, herb_g: float = 100.0, moisture: float = 0.1, **changes: Any) -> Batch:
    """A batch of `key` planned from `herb_g` g."""
    version = a_version_of(key, **changes)
    stock_of(version, moisture=moisture)
    asked = {"way": "bag"} if key == "folk" else {"way": "grams", "herb_g": herb_g}
    return plan_batch(version=version, today=TODAY, by=an_owner(), at=NOON, **asked)

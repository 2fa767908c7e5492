"""One formula of each preparation that Owlpenny Herbs can make, and what they are made of."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from batches.actions.formulas import approve_version, create_formula
from batches.calc import usual
from batches.management.demo.stock import Shelves
from batches.models import FormulaVersion
from batches.queries.recipes import Recipe
from batches.stages.courses import is_ready
from inventory.models import Material

SPIRITED = (
    "Contains alcohol. Ask a licensed practitioner when pregnant, nursing or on medicine. "
    "Keep from children. Keep cool and dark."
)
MILD = "Ask a licensed practitioner when pregnant, nursing or on medicine. Keep from children. Keep cool."
HONEYED = f"{MILD} Not for infants under 12 months."
FRESH = FormulaVersion.HerbState.FRESH
# name, preparation, parts by role, ratio (mL to a gram), and the rest of the recipe
Row = tuple[str, str, dict[str, str], float | None, dict[str, Any]]
SPIRIT = {"spirit": "Grain spirit", "water": "Tap water"}
VINEGAR_STEEP = {"macerate": {"min_days": 14, "target_days": 21, "max_days": 28}}
ROWS: tuple[Row, ...] = (
    (
        "Fresh lemon balm tincture",
        "fresh",
        {"herb": "Lemon balm, fresh leaf", **SPIRIT},
        2.0,
        {
            "menstruum_abv": 95.0,
            "herb_state": FRESH,
            "stages": {"macerate": {"min_days": 7, "target_days": 14, "shake_every_days": 0}},
        },
    ),
    ("Calendula folk jar", "folk", {"herb": "Calendula", **SPIRIT}, None, {"menstruum_abv": 60.0}),
    (
        "Echinacea percolate",
        "percolation",
        {"herb": "Echinacea", **SPIRIT},
        5.0,
        {"menstruum_abv": 60.0, "retention_ml_per_g": 2.0},
    ),
    (
        "Echinacea fluid extract",
        "fluid_extract",
        {"herb": "Echinacea", **SPIRIT},
        4.0,
        {"menstruum_abv": 60.0, "retention_ml_per_g": 2.0},
    ),
    (
        "Thyme infusion",
        "infusion",
        {"herb": "Thyme", "water": "Tap water"},
        20.0,
        {"best_before_months": 0},
    ),
    (
        "Reishi decoction",
        "decoction",
        {"herb": "Reishi", "water": "Tap water", "pot_water": "Tap water", "spirit": "Grain spirit"},
        32.0,
        {"target_abv": 25.0, "stages": {"reduce": {"to_share": 0.5}, "adjust": {"target_abv": 25.0}}},
    ),
    (
        "Lemon balm glycerite",
        "glycerite",
        {"herb": "Lemon balm", "glycerol": "Vegetable glycerol", "water": "Tap water"},
        5.0,
        {"best_before_months": 12, "retention_ml_per_g": 1.5},
    ),
    (
        "Thyme vinegar",
        "vinegar",
        {"herb": "Thyme", "acid": "Cider vinegar"},
        5.0,
        {"best_before_months": 3, "stages": VINEGAR_STEEP},
    ),
    (
        "Thyme oxymel",
        "oxymel",
        {"herb": "Thyme", "acid": "Cider vinegar", "sweetener": "Clear honey"},
        5.0,
        {"best_before_months": 6, "cautions": HONEYED, "stages": VINEGAR_STEEP},
    ),
    (
        "Elderberry syrup",
        "syrup",
        {"herb": "Elderberry", "water": "Tap water", "pot_water": "Tap water", "sweetener": "Cane sugar"},
        10.0,
        {
            "best_before_months": 6,
            "stages": {"reduce": {"to_share": 0.5}, "adjust": {"sugar_percent": 65.6}},
        },
    ),
    (
        "Calendula oil",
        "oil",
        {"herb": "Calendula", "menstruum": "Olive oil"},
        5.0,
        {"best_before_months": 12, "retention_ml_per_g": 1.5},
    ),
    (
        "House menstruum",
        "menstruum",
        SPIRIT,
        None,
        {"menstruum_abv": 60.0, "stages": {"adjust": {"target_abv": 60.0}}},
    ),
)
SUGAR_TO_100_ML = 190.0  # 65.6 % by weight; USP Syrup has 64.7 %


def write_formulas(shelves: Shelves, *, at: datetime) -> list[FormulaVersion]:
    """A formula of each preparation that can be made, approved by the owner."""
    found = [_written(shelves, row, at) for row in ROWS if is_ready(row[1])]
    return found + (_blend(shelves, at) if is_ready("blend") else [])


def _written(shelves: Shelves, row: Row, at: datetime) -> FormulaVersion:
    name, preparation, roles, ratio, rest = row
    parts = {role: shelves.goods[goods] for role, goods in roles.items()}
    caution = SPIRITED if "spirit" in roles else MILD
    bottled = {} if preparation == "menstruum" else _bottled(shelves)
    recipe = Recipe(
        parts=parts | bottled,
        ratio=ratio,
        shares=_shares(preparation, ratio or 0.0),
        **({"cautions": caution} | rest),
    )
    return _approved(shelves, name, preparation, recipe, at)


def _shares(preparation: str, ratio: float) -> dict[str, float]:
    """Grams to a gram of herb of what is not spirit."""
    return {
        "glycerite": {"glycerol": 0.75 * ratio * usual.GLYCEROL, "water": 0.25 * ratio * usual.WATER},
        "vinegar": {"acid": ratio * usual.VINEGAR},
        "oxymel": {"acid": ratio * usual.VINEGAR, "sweetener": ratio},
        "oil": {"menstruum": ratio * usual.OIL},
        "syrup": {"water": ratio * usual.WATER, "sweetener": SUGAR_TO_100_ML / 100 * ratio / 2},
    }.get(preparation, {"water": ratio * usual.WATER} if preparation in ("infusion", "decoction") else {})


def _bottled(shelves: Shelves) -> dict[str, Any]:
    return {"bottle": shelves.goods["Amber bottle 50 mL"], "closure": shelves.goods["Dropper 50 mL"]}


def _blend(shelves: Shelves, at: datetime) -> list[FormulaVersion]:
    """Of two liquids that stand finished by then."""
    finished = Material.objects.filter(kind=Material.Kind.BULK).order_by("name")[:2]
    if len(finished) < 2:
        return []
    liquids = ((finished[0], 0.6), (finished[1], 0.4))
    recipe = Recipe(parts=_bottled(shelves), liquids=liquids, cautions=SPIRITED)
    return [_approved(shelves, "Winter blend", "blend", recipe, at)]


def _approved(shelves: Shelves, name: str, preparation: str, recipe: Recipe, at: datetime) -> FormulaVersion:
    version = create_formula(name=name, preparation=preparation, recipe=recipe, by=shelves.owner, at=at)
    return approve_version(version=version, by=shelves.owner, at=at)

"""What a formula version says, and whether it makes sense for its preparation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from batches.models import FormulaPart, FormulaVersion
from batches.stages.courses import is_ready
from batches.stages.preparations import FRESH, PREPARATIONS, Preparation
from inventory.models import Material
from workshop.errors import Refused

Role = FormulaPart.Role
Settings = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a version says. Volumes in mL at 20 °C, strengths in % vol at 20 °C.

    `ratio` is menstruum to a gram of herb, in mL or by `ratio_basis` in grams. `parts` maps a role
    (`FormulaPart.Role`) to goods, `shares` a role to grams per gram of herb; `liquids` are those of a blend,
    each with its share of the whole. `stages` maps a stage kind to its settings, and what is left out takes
    the kind's defaults; an optional kind joins the course by standing in it.
    """

    parts: Mapping[str, Material] = field(default_factory=dict)
    ratio: float | None = None
    menstruum_abv: float | None = None
    ratio_basis: str = FormulaVersion.RatioBasis.BY_VOLUME
    herb_state: str = FormulaVersion.HerbState.DRIED
    target_abv: float | None = None
    retention_ml_per_g: float = 1.0
    fill_ml: float = 50.0
    best_before_months: int = 24
    herb_basis: str = FormulaVersion.HerbBasis.ALL
    dose_ml: float | None = None
    dose_note: str = ""
    cautions: str = ""
    limits: Mapping[str, Any] = field(default_factory=dict)
    deviations: Mapping[str, Any] = field(default_factory=dict)
    stages: Settings = field(default_factory=dict)
    shares: Mapping[str, float] = field(default_factory=dict)
    liquids: tuple[tuple[Material, float], ...] = ()

    def columns(self) -> dict[str, Any]:
        """The columns of a version."""
        names = (
            "ratio",
            "ratio_basis",
            "menstruum_abv",
            "herb_state",
            "target_abv",
            "retention_ml_per_g",
            "fill_ml",
            "best_before_months",
            "herb_basis",
            "dose_ml",
            "dose_note",
            "cautions",
            "limits",
            "deviations",
        )
        return {name: getattr(self, name) for name in names}


# field of the form -> (role, words)
GOODS = {
    "herb": (Role.HERB, "a herb"),
    "spirit": (Role.SPIRIT, "a spirit"),
    "water": (Role.WATER, "water"),
    "glycerol": (Role.GLYCEROL, "glycerol"),
    "acid": (Role.ACID, "a vinegar"),
    "oil": (Role.MENSTRUUM, "an oil"),
    "menstruum": (Role.MENSTRUUM, "a menstruum"),
    "sweetener": (Role.SWEETENER, "sugar or honey"),
}


def check(preparation: str, recipe: Recipe) -> None:
    """Raises `Refused` at the field when `recipe` lacks what its preparation asks, or says what it cannot."""
    one = PREPARATIONS[preparation]
    _check_goods(one, recipe)
    _check_ratio(one, recipe)
    _check_strength(one, recipe)
    _check_target(one, recipe)
    if one.herb and recipe.herb_state not in one.herb:
        raise Refused(_wrong_herb(one), field="herb_state")
    if "liquids" in one.asks:
        _check_liquids(recipe)
    if not is_ready(preparation):
        raise Refused(f"A {one.title.lower()} cannot be made here yet: choose another.", field="preparation")


def _ready_menstruum(one: Preparation, recipe: Recipe) -> bool:
    return "menstruum" in one.may and Role.MENSTRUUM in recipe.parts


def _check_goods(one: Preparation, recipe: Recipe) -> None:
    for name in one.asks:
        role, words = GOODS.get(name, (None, ""))
        if role is None or role in recipe.parts or (name == "spirit" and _ready_menstruum(one, recipe)):
            continue
        if name == "water":
            continue  # the shop's water is taken when none is named
        raise Refused(f"A formula needs {words}.", field=name)


def _check_ratio(one: Preparation, recipe: Recipe) -> None:
    if "ratio" not in one.asks:
        if recipe.ratio is not None:
            raise Refused(f"A {one.title.lower()} has no ratio: leave it out.", field="ratio")
        return
    if recipe.ratio is None or not recipe.ratio > 0:
        raise Refused("The menstruum must be more than 0 mL per g.", field="ratio")


def _check_strength(one: Preparation, recipe: Recipe) -> None:
    if "menstruum_abv" not in one.asks or _ready_menstruum(one, recipe):
        return
    if recipe.menstruum_abv is None or not 0 < recipe.menstruum_abv <= 100:
        raise Refused("The menstruum's strength lies above 0 and up to 100 % vol.", field="menstruum_abv")


def _check_target(one: Preparation, recipe: Recipe) -> None:
    target = recipe.target_abv
    if "target_abv" in one.asks and target is None:
        raise Refused(
            f"A {one.title.lower()} is combined to a strength: say which, in % vol.", field="target_abv"
        )
    if target is None:
        return
    if "target_abv" not in (*one.asks, *one.may):
        raise Refused(
            f"A {one.title.lower()} is bottled as pressed: leave its strength empty.", field="target_abv"
        )
    if not 0 < target <= 100:
        raise Refused("The strength in the bottle lies above 0 and up to 100 % vol.", field="target_abv")
    if recipe.menstruum_abv is not None and target > recipe.menstruum_abv:
        raise Refused(
            f"The bottle cannot be stronger than the menstruum of {recipe.menstruum_abv:g} % vol: "
            "lower this, or raise the menstruum.",
            field="target_abv",
        )


def _wrong_herb(one: Preparation) -> str:
    if FRESH in one.herb:
        return f"A {one.title.lower()} is made of fresh herb. For dried herb choose Maceration."
    words = f"A {one.title.lower()} is made of dried herb only"
    return f"{words}: dry it first. {one.cautions[0].words if one.key == 'oil' else ''}".strip()


def _check_liquids(recipe: Recipe) -> None:
    if len(recipe.liquids) < 2:
        raise Refused("A blend needs two liquids or more.", field="liquids")
    total = sum(share for _, share in recipe.liquids)
    if abs(total - 1.0) > 1e-6 or min(share for _, share in recipe.liquids) <= 0:
        raise Refused(
            f"The shares of the liquids make {total * 100:g} %: they make 100 % in all.", field="liquids"
        )

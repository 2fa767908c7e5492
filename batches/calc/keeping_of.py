"""Will a liquid keep, by what it is made of: the way of keeping that its preparation rests on."""

from __future__ import annotations

from batches.calc.composition import ACID, GLYCEROL, OIL, SUGAR, WATER, Composition
from batches.calc.keeping import (
    FLOORS,
    Floors,
    acid_keeping,
    glycerol_keeping,
    spirit_keeping,
    syrup_keeping,
)
from batches.calc.keeping.glycerol import GLYCEROL_20
from batches.calc.keeping.verdict import Verdict
from inventory.calc.contents import VINEGAR_ACID


def way_of_keeping(made: Composition) -> str:
    """What preserves it most likely: "oil", "glycerol", "sugar", "acid", "ethanol", or "" for nothing."""
    if made.share(OIL) > 0.5:
        return "oil"
    if made.share(GLYCEROL) > 0.3:
        return "glycerol"
    if made.share(SUGAR) > 0.3:
        return "sugar"
    if made.acid_percent >= 1.0 and made.abv < 10.0:
        return "acid"
    return "ethanol" if made.abv >= 1.0 else ""


def keeping_of(made: Composition, *, ph: float | None = None, floors: Floors = FLOORS) -> Verdict | None:
    """The verdict; None for an oil (its herb's moisture decides), plain water, and nothing at all."""
    way = way_of_keeping(made) if made.g else ""
    if way == "glycerol":
        glycerol_ml = made.of_which(GLYCEROL) / GLYCEROL_20
        return glycerol_keeping(glycerol_ml=glycerol_ml, water_g=made.of_which(WATER), floors=floors).verdict
    if way == "sugar":
        return syrup_keeping(
            sugar_g=made.of_which(SUGAR), water_g=made.g - made.of_which(SUGAR), floors=floors
        ).verdict
    if way == "acid":
        acid = made.of_which(ACID)
        vinegar_ml = acid / VINEGAR_ACID * 100.0
        return acid_keeping(
            vinegar_ml=min(vinegar_ml, made.ml),
            acidity=100.0 * acid / min(vinegar_ml, made.ml),
            other_ml=max(0.0, made.ml - vinegar_ml),
            ph=ph,
            floors=floors,
        ).verdict
    if way == "ethanol":
        return spirit_keeping(ml=made.ml, abv=made.abv, ph=ph, floors=floors).verdict
    return None

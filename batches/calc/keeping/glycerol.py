"""Kept by glycerol: by mass, with the share by volume and the water activity beside it."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import WATER_20
from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.keeping.activity import (
    BEUCHAT,
    MOLAR_GLYCEROL,
    MOLAR_WATER,
    glycerol_activity,
    may_grow,
)
from batches.calc.keeping.floors import FLOORS, Floors
from batches.calc.keeping.verdict import NOT_PROOF, Check, Keeping, Verdict
from batches.calc.result import D_WATER, Result, figure, g, mL, plain
from workshop.calc.rounding import show
from workshop.calc.working import Figure

# Pure glycerol at 20 °C, g/mL: from memory.
GLYCEROL_20 = 1.261


@dataclass(frozen=True, slots=True)
class GlycerolKeeping(Result):
    """Glycerol and all the water, the herb's too. Volumes are added (about 1 % too much)."""

    glycerol_ml: float
    water_g: float
    floor_ww: float
    glycerol_ww: float
    glycerol_vv: float
    activity: float
    margin_ww: float
    to_add_ml: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        dense = plain("dg", "density of glycerol", GLYCEROL_20, "g/mL", 3)
        inputs = (mL("G", "glycerol at 20 °C", self.glycerol_ml), g("W", "water in all", self.water_g))
        by_mass = (*inputs, dense)
        floor = (*by_mass, plain("f", self.verdict.floor.words, self.floor_ww, "% w/w", 1))
        moles = (
            *by_mass,
            plain("Mg", "mass of a mole of glycerol", MOLAR_GLYCEROL, "g/mol", 3),
            plain("Mw", "mass of a mole of water", MOLAR_WATER, "g/mol", 3),
        )
        ww, source = "100 * G * dg / (G * dg + W)", self.verdict.floor.cited
        found = {
            "glycerol_ww": figure(
                "Glycerol by mass",
                self.glycerol_ww,
                "% w/w",
                ww,
                "Over all the liquid.",
                by_mass,
                source=source,
            ),
            "glycerol_vv": figure(
                "Glycerol by volume",
                self.glycerol_vv,
                "% v/v",
                "100 * G / (G + W / dw)",
                "Volumes added, as the trade counts it.",
                (*inputs, D_WATER),
                source="volumes added: common practice",
            ),
            "activity": figure(
                "Water activity",
                self.activity,
                "",
                "W / Mw / (W / Mw + G * dg / Mg)",
                "Water's share of the molecules.",
                moles,
                digits=3,
                source=f"Raoult's law, ±0.02; limits of growth: {BEUCHAT}",
            ),
            "margin_ww": figure(
                "Above the floor",
                self.margin_ww,
                "% w/w",
                f"{ww} - f",
                "Less the floor.",
                floor,
                source=source,
            ),
        }
        if self.to_add_ml > 0.0:
            found["to_add_ml"] = figure(
                "Glycerol to add",
                self.to_add_ml,
                "mL",
                "(f * (G * dg + W) - 100 * G * dg) / (100 - f) / dg",
                "Until glycerol is the floor's share by mass.",
                floor,
                source=source,
            )
        return found


def glycerol_keeping(*, glycerol_ml: float, water_g: float, floors: Floors = FLOORS) -> GlycerolKeeping:
    """Does a glycerite of `glycerol_ml` mL of pure glycerol and `water_g` g of water (the herb's too) keep?

    Trade advice scatters from 25 to 80 %: the floor is 65 % w/w (about 60 % v/v), cold 55 % w/w.
    """
    need_not_negative(glycerol_ml, "The glycerol")
    need_not_negative(water_g, "The water")
    mass = glycerol_ml * GLYCEROL_20
    if mass + water_g <= 0.0:
        raise OutOfRange("There is neither glycerol nor water.")
    if floors.glycerol.value >= 100.0:
        raise OutOfRange("A glycerol floor must lie below 100 % w/w.")
    percent = 100.0 * mass / (mass + water_g)
    check, cold = (
        Check("Glycerol", percent, floors.glycerol),
        Check("Glycerol", percent, floors.glycerol_least),
    )
    keeping = Keeping.KEEPS if check.met else Keeping.COLD if cold.met else Keeping.NOT
    floor = floors.glycerol.value
    more = 0.0 if check.met else (floor * (mass + water_g) - 100.0 * mass) / (100.0 - floor) / GLYCEROL_20
    activity = glycerol_activity(percent)
    verdict = Verdict(
        keeping,
        (check,) if check.met else (check, cold),
        () if check.met else (f"Add {show(more, 'mL', 0)} of glycerol.",),
        (_grows(activity), NOT_PROOF),
    )
    by_volume = 100.0 * glycerol_ml / (glycerol_ml + water_g / WATER_20 * 1000.0)
    return GlycerolKeeping(
        glycerol_ml, water_g, floor, percent, by_volume, activity, check.margin, more, verdict
    )


def _grows(activity: float) -> str:
    left = may_grow(activity)
    what = ", ".join(left) if left else "nothing known"
    return f"At a water activity of {activity:.2f} there may still grow: {what} ({BEUCHAT})."

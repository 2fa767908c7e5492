"""Kept by sugar: syrups by their sucrose, honeys by their water."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.keeping.floors import FLOORS, Floors
from batches.calc.keeping.verdict import NOT_PROOF, Check, Keeping, Verdict
from batches.calc.result import Result, figure, g, plain, share
from workshop.calc.rounding import show
from workshop.calc.working import Figure

# Sucrose in water at saturation near 20 °C: from memory, about 67 % w/w.
CRYSTALS_WW = 67.0
HONEY_WATER = 0.18
_INFANTS = "Honey is not for children under 12 months."
_CRYSTALS = "Above about 67 % w/w sugar crystallises out in the cold and leaves a weaker syrup."


def _to_reach(sugar_g: float, whole_g: float, percent: float) -> float:
    """Grams of sugar that raise `sugar_g` in `whole_g` to `percent` % w/w."""
    return (percent * whole_g - 100.0 * sugar_g) / (100.0 - percent)


def _need_room(percent: float) -> None:
    if percent >= 100.0:
        raise OutOfRange("A syrup floor must lie below 100 % w/w: sugar alone is no syrup.")


@dataclass(frozen=True, slots=True)
class SyrupKeeping(Result):
    """Sucrose and water: `to_add_g` of sugar brings it to the floor."""

    sugar_g: float
    water_g: float
    floor_ww: float
    sugar_ww: float
    margin_ww: float
    to_add_g: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        inputs = (g("S", "sugar", self.sugar_g), g("W", "water", self.water_g))
        floor = (*inputs, plain("f", self.verdict.floor.words, self.floor_ww, "% w/w", 1))
        source = self.verdict.floor.cited
        by_mass = "100 * S / (S + W)"
        found = {
            "sugar_ww": figure("Sugar", self.sugar_ww, "% w/w", by_mass, "By mass.", inputs, source=source),
            "margin_ww": figure(
                "Above the floor",
                self.margin_ww,
                "% w/w",
                f"{by_mass} - f",
                "Less the floor.",
                floor,
                source=source,
            ),
        }
        if self.to_add_g > 0.0:
            found["to_add_g"] = figure(
                "Sugar to add",
                self.to_add_g,
                "g",
                "(f * (S + W) - 100 * S) / (100 - f)",
                "Until sugar is the floor's share of the whole.",
                floor,
                source=source,
            )
        return found


def syrup_parts(*, ml: float, sugar_wv: float, density_g_ml: float) -> tuple[float, float]:
    """(g sugar, g water) in `ml` mL of a syrup of `sugar_wv` g per 100 mL and `density_g_ml`.

    USP Syrup: 85 g per 100 mL, specific gravity 1.313.
    """
    need_positive(ml, "The syrup")
    need_not_negative(sugar_wv, "The sugar in 100 mL")
    need_positive(density_g_ml, "The density")
    if sugar_wv > 100.0 * density_g_ml:
        raise OutOfRange(
            f"100 mL weigh {100.0 * density_g_ml:.0f} g: they cannot hold {sugar_wv:.0f} g of sugar."
        )
    sugar = ml * sugar_wv / 100.0
    return sugar, ml * density_g_ml - sugar


def syrup_keeping(*, sugar_g: float, water_g: float, floors: Floors = FLOORS) -> SyrupKeeping:
    """Does a syrup of `sugar_g` g of sucrose and `water_g` g of water keep, without spirit?

    Sources: USP Syrup 64.7 % w/w, BP Syrup 66.7 % w/w; the cold floor is common practice.
    """
    need_not_negative(sugar_g, "The sugar")
    need_positive(water_g, "The water")
    _need_room(floors.syrup.value)
    whole = sugar_g + water_g
    percent = 100.0 * sugar_g / whole
    check, cold = Check("Sugar", percent, floors.syrup), Check("Sugar", percent, floors.syrup_cold)
    to_add = 0.0 if check.met else _to_reach(sugar_g, whole, floors.syrup.value)
    changes = (
        () if check.met else (f"Add {show(to_add, 'g', 0)} of sugar, or the spirit its free water needs.",)
    )
    cautions = (_CRYSTALS, NOT_PROOF) if percent > CRYSTALS_WW else (NOT_PROOF,)
    checks = (check,) if check.met else (check, cold)
    keeping = Keeping.KEEPS if check.met else Keeping.COLD if cold.met else Keeping.NOT
    verdict = Verdict(keeping, checks, changes, cautions)
    return SyrupKeeping(sugar_g, water_g, floors.syrup.value, percent, check.margin, to_add, verdict)


@dataclass(frozen=True, slots=True)
class HoneyKeeping(Result):
    """Honey with water in it, from a herb or a decoction. `margin_ww` is how much drier than the ceiling.

    `honey_to_add_g` would dry it again (0: none, or this honey is too wet to); `sugar_to_add_g` makes it a
    syrup at the syrup floor instead.
    """

    honey_g: float
    honey_water: float
    water_g: float
    most_ww: float
    syrup_ww: float
    water_ww: float
    margin_ww: float
    honey_to_add_g: float
    sugar_to_add_g: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        inputs = (
            g("H", "honey", self.honey_g),
            share("h", "water in the honey", self.honey_water),
            g("W", "water that joined it", self.water_g),
        )
        limit = (*inputs, plain("f", self.verdict.floor.words, self.most_ww, "% w/w", 1))
        syrup = (*inputs, plain("y", "floor of a syrup", self.syrup_ww, "% w/w", 1))
        water = "100 * (H * h + W) / (H + W)"
        dry = "(100 * (H * h + W) - f * (H + W)) / (f - 100 * h)"
        sweet = "(y * (H + W) - 100 * H * (1 - h)) / (100 - y)"
        source = self.verdict.floor.cited
        rows = [
            ("water_ww", "Water in all", "% w/w", water, inputs),
            ("margin_ww", "Drier than the ceiling by", "% w/w", f"f - {water}", limit),
            ("honey_to_add_g", "Honey to add", "g", dry, limit),
            ("sugar_to_add_g", "Sugar to add, to make a syrup of it", "g", sweet, syrup),
        ]
        words = "Water by mass over the whole."
        return {
            key: figure(name, getattr(self, key), unit, formula, words, shown, source=source)
            for key, name, unit, formula, shown in rows
            if unit != "g" or getattr(self, key) > 0.0
        }


def honey_keeping(
    *, honey_g: float, water_g: float = 0.0, honey_water: float = HONEY_WATER, floors: Floors = FLOORS
) -> HoneyKeeping:
    """Does `honey_g` g of honey keep with `water_g` g of water in it (a fresh herb's, a decoction's)?

    `honey_water` is the honey's own share of water (0..1). Above the ceiling it ferments: it keeps cold while
    sugar is at the syrups' cold floor. Sources: water at most 18.6 % from memory; water activity of honey
    0.5 to 0.6 and pH 3.4 to 6.1 (Clemson extension, foodsafetysite.com).
    """
    need_positive(honey_g, "The honey")
    need_not_negative(water_g, "The water")
    need_fraction(honey_water, "The honey's own water")
    _need_room(floors.syrup.value)
    whole, water = honey_g + water_g, honey_g * honey_water + water_g
    check = Check("Water", 100.0 * water / whole, floors.honey_water, at_most=True)
    cold = Check("Sugar", 100.0 - check.value, floors.syrup_cold)
    honey, sugar = _mends(check, whole, water, honey_water, floors)
    keeping = Keeping.KEEPS if check.met else Keeping.COLD if cold.met else Keeping.NOT
    verdict = Verdict(
        keeping,
        (check,) if check.met else (check, cold),
        _ways(honey, sugar, check.met),
        (_INFANTS, NOT_PROOF),
    )
    return HoneyKeeping(
        honey_g,
        honey_water,
        water_g,
        floors.honey_water.value,
        floors.syrup.value,
        check.value,
        check.margin,
        honey,
        sugar,
        verdict,
    )


def _mends(
    check: Check, whole: float, water: float, honey_water: float, floors: Floors
) -> tuple[float, float]:
    """(g of honey, g of sugar) that mend it; 0 where there is no need, or no use."""
    if check.met:
        return 0.0, 0.0
    room = check.limit.value - 100.0 * honey_water
    honey = (100.0 * water - check.limit.value * whole) / room if room > 0.0 else 0.0
    return honey, max(0.0, _to_reach(whole - water, whole, floors.syrup.value))


def _ways(honey_g: float, sugar_g: float, keeps: bool) -> tuple[str, ...]:
    if keeps:
        return ()
    ways = ["Dry the herb first: a dry herb brings honey no water to speak of."]
    if honey_g:
        ways.append(f"Add {show(honey_g, 'g', 0)} of the same honey.")
    if sugar_g:
        ways.append(f"Or make a syrup of it with {show(sugar_g, 'g', 0)} of sugar, hot.")
    return tuple(ways)

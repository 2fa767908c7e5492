"""What a dose holds: herb on a named basis, ethanol, drops; how long a bottle lasts.

It computes what the owner's dose note contains and recommends none. Ethanol is reckoned from the strength
given: pass the high end of what the bottle may hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from batches.calc.alcohol import ETHANOL_20
from batches.calc.errors import OutOfRange, need_not_negative, need_positive
from batches.calc.extraction import Basis
from batches.calc.result import ARITHMETIC, D_ETHANOL, Result, figure, g, mL, plain, strength
from workshop.calc.working import Figure

LEAST_DROPS = 20
# The drinks a dose's ethanol is set beside, as EU leaflets do it (from memory): beer 5, wine 12.5 % vol.
BEER_ABV, WINE_ABV = 5.0, 12.5


@dataclass(frozen=True, slots=True)
class Dose(Result):
    """One dose of `dose_ml` from a bottle of `fill_ml`: its herb, on `basis`, and its ethanol."""

    dose_ml: float
    herb_mg_per_ml: float
    basis: Basis
    abv: float
    fill_ml: float
    per_day: float
    herb_mg: float
    ethanol_mg: float
    beer_ml: float
    wine_ml: float
    doses: int
    days: float

    def figures(self) -> dict[str, Figure]:
        volume = mL("v", "dose", self.dose_ml)
        ethanol = (volume, strength("a", "strength, high end", self.abv), D_ETHANOL)
        grams = "v * a / 100 * de"
        herb = plain("c", f"herb per mL, {self.basis}", self.herb_mg_per_ml, "mg/mL", 1)
        doses = plain("n", "whole doses in a bottle", float(self.doses), "", 0)
        daily = plain("k", "doses a day, from the dose note", self.per_day, "", 1)
        same = "The drink that holds as much ethanol."
        return {
            "herb_mg": figure(
                f"Herb in a dose, {self.basis}",
                self.herb_mg,
                "mg",
                "v * c",
                "Dose times herb per mL.",
                (volume, herb),
                source=ARITHMETIC,
            ),
            "ethanol_mg": figure(
                "Ethanol in a dose",
                self.ethanol_mg,
                "mg",
                f"1000 * {grams}",
                "Dose times strength times the density of pure ethanol.",
                ethanol,
            ),
            "beer_ml": figure(
                "As much as in beer of 5 % vol", self.beer_ml, "mL", "v * a / 5", same, ethanol[:2]
            ),
            "wine_ml": figure(
                "As much as in wine of 12.5 % vol", self.wine_ml, "mL", "v * a / 12.5", same, ethanol[:2]
            ),
            "days": figure(
                "A bottle lasts",
                self.days,
                "days",
                "n / k",
                "Whole doses over doses a day.",
                (doses, daily),
                source=ARITHMETIC,
            ),
        }


def dose(
    *,
    dose_ml: float,
    herb_mg_per_ml: float,
    basis: Basis,
    abv: float,
    fill_ml: float,
    per_day: float,
) -> Dose:
    """What `dose_ml` mL holds; `abv` is the high end of the strength, `basis` names the herb figure."""
    need_positive(dose_ml, "The dose")
    need_not_negative(herb_mg_per_ml, "The herb per mL")
    need_positive(fill_ml, "The bottle")
    need_positive(per_day, "The doses a day")
    if not 0.0 <= abv <= 100.0:
        raise OutOfRange("A strength lies between 0 and 100 % vol.")
    doses = floor(fill_ml / dose_ml + 1e-9)
    return Dose(
        dose_ml=dose_ml,
        herb_mg_per_ml=herb_mg_per_ml,
        basis=basis,
        abv=abv,
        fill_ml=fill_ml,
        per_day=per_day,
        herb_mg=dose_ml * herb_mg_per_ml,
        ethanol_mg=dose_ml * abv / 100.0 * ETHANOL_20,
        beer_ml=dose_ml * abv / BEER_ABV,
        wine_ml=dose_ml * abv / WINE_ABV,
        doses=doses,
        days=doses / per_day,
    )


def standard_drinks(ethanol_mg: float, grams_each: float) -> float:
    """Standard drinks of `grams_each` g (the country's own figure) in `ethanol_mg` mg."""
    need_not_negative(ethanol_mg, "The ethanol")
    need_positive(grams_each, "A standard drink")
    return ethanol_mg / 1000.0 / grams_each


def ml_for_ethanol(*, mg_per_kg: float, body_kg: float, abv: float) -> float:
    """mL of `abv` % vol that hold `mg_per_kg` mg of ethanol per kg of `body_kg`."""
    need_not_negative(mg_per_kg, "The ethanol per kg")
    need_positive(body_kg, "The body weight")
    need_positive(abv, "The strength")
    return mg_per_kg * body_kg / (abv / 100.0 * ETHANOL_20)


@dataclass(frozen=True, slots=True)
class Drops(Result):
    """A dropper calibrated with its liquid: mass and volume of a drop, drops in a mL."""

    count: int
    mass_g: float
    density_g_ml: float
    mg_per_drop: float
    ml_per_drop: float
    drops_per_ml: float

    def figures(self) -> dict[str, Figure]:
        counted = (
            g("m", "mass of the drops", self.mass_g),
            plain("n", "drops counted", float(self.count), "", 0),
        )
        dense = (*counted, plain("d", "density of the liquid", self.density_g_ml, "g/mL", 5))
        source = "USP <1101>: the dropper upright, weighed drops"
        return {
            "mg_per_drop": figure(
                "One drop weighs",
                self.mg_per_drop,
                "mg",
                "1000 * m / n",
                "Mass over count.",
                counted,
                source=source,
                digits=1,
            ),
            "ml_per_drop": figure(
                "One drop",
                self.ml_per_drop,
                "mL",
                "m / n / d",
                "By its density.",
                dense,
                source=source,
                digits=4,
            ),
            "drops_per_ml": figure(
                "Drops in 1 mL", self.drops_per_ml, "", "n * d / m", "The other way.", dense, source=source
            ),
        }


def calibrate_drops(*, count: int, mass_g: float, density_g_ml: float) -> Drops:
    """A dropper from `count` (20 or more) drops weighing `mass_g` g of a liquid of `density_g_ml` g/mL."""
    if count < LEAST_DROPS:
        raise OutOfRange(f"Count {LEAST_DROPS} drops or more, not {count}.")
    need_positive(mass_g, "The mass of the drops")
    need_positive(density_g_ml, "The density")
    each = mass_g / count
    return Drops(count, mass_g, density_g_ml, 1000.0 * each, each / density_g_ml, density_g_ml / each)

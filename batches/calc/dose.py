"""What a dose holds: herb on a named basis, ethanol, drops; how long a bottle lasts.

It computes what the owner's dose note contains and recommends none. Ethanol is reckoned from the strength
given: pass the high end of what the bottle may hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from batches.calc.alcohol import ETHANOL_20
from batches.calc.drops import LEAST_DROPS as LEAST_DROPS
from batches.calc.drops import Calibration as Calibration
from batches.calc.drops import DropEstimate as DropEstimate
from batches.calc.drops import Drops as Drops
from batches.calc.drops import calibrate_drops as calibrate_drops
from batches.calc.drops import calibration as calibration
from batches.calc.drops import estimate_drops as estimate_drops
from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.extraction import Basis
from batches.calc.result import ARITHMETIC, D_ETHANOL, Result, figure, mL, plain, strength
from workshop.calc.working import Figure

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


# Litres of the body that ethanol spreads in, per kg: worked out from the figures of the TGA's note on the
# EMA ethanol annex (75 mg/kg to 0.125 g/L, 1.8 g/kg to 3 g/L).
SPREADS_L_KG = 0.6


@dataclass(frozen=True, slots=True)
class EthanolInDose(Result):
    """The ethanol of one dose beside a body of `body_kg`: information only. `abv` is the high end."""

    dose_ml: float
    abv: float
    body_kg: float
    spreads_l_kg: float
    ethanol_mg: float
    mg_per_kg: float
    rise_g_l: float
    beer_ml: float
    wine_ml: float

    def drinks(self, grams_each: float) -> float:
        """Standard drinks of `grams_each` g in the dose."""
        return standard_drinks(self.ethanol_mg, grams_each)

    def figures(self) -> dict[str, Figure]:
        volume = (mL("v", "dose", self.dose_ml), strength("a", "strength, high end", self.abv))
        inputs = (*volume, D_ETHANOL)
        body = (*inputs, plain("k", "body weight", self.body_kg, "kg", 1))
        spread = (*body, plain("r", "litres a kg that ethanol spreads in", self.spreads_l_kg, "L/kg"))
        mg, same = "1000 * v * a / 100 * de", "The drink that holds as much ethanol."
        tga = "TGA note on the EMA ethanol annex (CHMP/302620/2017), worked out; information only"
        return {
            "ethanol_mg": figure("Ethanol in a dose", self.ethanol_mg, "mg", mg, "By mass.", inputs),
            "mg_per_kg": figure(
                "Per kg of body", self.mg_per_kg, "mg/kg", f"{mg} / k", "Over the weight.", body, digits=2
            ),
            "rise_g_l": figure(
                "Rise in the blood",
                self.rise_g_l,
                "g/L",
                f"{mg} / k / r / 1000",
                "If all of it were taken up at once.",
                spread,
                digits=4,
                source=tga,
            ),
            "beer_ml": figure("As much as in beer of 5 % vol", self.beer_ml, "mL", "v * a / 5", same, volume),
            "wine_ml": figure(
                "As much as in wine of 12.5 % vol", self.wine_ml, "mL", "v * a / 12.5", same, volume
            ),
        }


def ethanol_in_dose(
    *, dose_ml: float, abv: float, body_kg: float = 70.0, spreads_l_kg: float = SPREADS_L_KG
) -> EthanolInDose:
    """Ethanol of `dose_ml` mL at the high end `abv` % vol: mg, mg/kg, rise g/L, mL of beer and wine."""
    need_positive(dose_ml, "The dose")
    need_positive(body_kg, "The body weight")
    need_positive(spreads_l_kg, "The litres a kg")
    if not 0.0 <= abv <= 100.0:
        raise OutOfRange(f"A strength lies between 0 and 100 % vol; {number(abv)} does not.")
    mg = dose_ml * abv / 100.0 * ETHANOL_20
    rise = mg / body_kg / spreads_l_kg / 1000.0
    beer, wine = dose_ml * abv / BEER_ABV, dose_ml * abv / WINE_ABV
    return EthanolInDose(dose_ml, abv, body_kg, spreads_l_kg, mg, mg / body_kg, rise, beer, wine)

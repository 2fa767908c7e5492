"""Ethanol vapour: how much air a wet marc can make flammable. Guidance; the local fire code decides."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import ETHANOL_20
from batches.calc.errors import need_not_negative
from batches.calc.result import D_ETHANOL, Result, figure, mL, plain
from workshop.calc.working import Figure

# Ideal gas at 101.325 kPa and 20 °C: R T / P, litres per mole.
_LITRES_PER_MOLE = 8.314462618 * 293.15 / 101.325
_ETHANOL_MOLAR_G = 46.069
LOWER_FLAMMABLE_PERCENT = 3.3


@dataclass(frozen=True, slots=True)
class Vapour(Result):
    """What the ethanol in a marc makes when it all flashes off."""

    ethanol_ml: float
    ethanol_g: float
    vapour_l: float
    air_m3: float

    def figures(self) -> dict[str, Figure]:
        ethanol = mL("E", "pure ethanol at 20 °C", self.ethanol_ml)
        gas = plain("Vm", "litres of vapour a mole fills at 20 °C", _LITRES_PER_MOLE, "L/mol", 3)
        molar = plain("Mm", "mass of a mole of ethanol", _ETHANOL_MOLAR_G, "g/mol", 3)
        limit = plain("L", "lower flammable limit", LOWER_FLAMMABLE_PERCENT, "% of air", 1)
        inputs = (ethanol, D_ETHANOL, molar, gas)
        return {
            "vapour_l": figure(
                "Vapour",
                self.vapour_l,
                "L",
                "E * de / Mm * Vm",
                "As an ideal gas at 20 °C.",
                inputs,
                source="ideal gas law",
            ),
            "air_m3": figure(
                "Air it can make flammable",
                self.air_m3,
                "m3",
                "E * de / Mm * Vm / 1000 / (L / 100)",
                "The vapour over the lower flammable limit.",
                (*inputs, limit),
                source="ideal gas law; lower limit 3.3 % from safety data sheets",
            ),
        }


def vapour(ethanol_ml: float) -> Vapour:
    """Litres of vapour and m3 of air to the lower flammable limit from `ethanol_ml` mL of pure ethanol."""
    need_not_negative(ethanol_ml, "The ethanol")
    mass = ethanol_ml * ETHANOL_20 / 1000.0
    litres = mass / _ETHANOL_MOLAR_G * _LITRES_PER_MOLE
    return Vapour(ethanol_ml, mass, litres, litres / 1000.0 / (LOWER_FLAMMABLE_PERCENT / 100.0))

"""What the pot leaves of the marc's ethanol: never nothing."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.points import between
from batches.calc.result import Result, figure, mL, plain, share
from workshop.calc.working import Figure, Input

# Ethanol distils off about ten times as readily as its share of the liquid: from memory.
VOLATILITY = 10.0
# USDA Table of Nutrient Retention Factors, alcohol in simmered dishes; before 15 minutes a straight line
# from 1.
USDA_RETENTION = (
    (0.0, 1.0),
    (0.25, 0.40),
    (0.5, 0.35),
    (1.0, 0.25),
    (1.5, 0.20),
    (2.0, 0.10),
    (2.5, 0.05),
)


@dataclass(frozen=True, slots=True)
class EthanolLeft(Result):
    """Of the marc's ethanol, what may still be in the pot: never claim zero.

    `floor_ml` (nothing left) decides keeping, `high_ml` the ethanol in a dose, `physics_ml` is the
    estimate at a rolling boil, `kitchen_ml` the share printed for simmered dishes.
    """

    ethanol_ml: float
    start_ml: float
    evaporated_ml: float
    hours: float
    topped_up: bool
    floor_ml: float
    physics_ml: float
    kitchen_ml: float
    high_ml: float
    volatility: float = VOLATILITY

    def figures(self) -> dict[str, Figure]:
        inputs: tuple[Input, ...] = (
            mL("E", "pure ethanol brought by the marc", self.ethanol_ml),
            mL("V0", "in the pot", self.start_ml),
            mL("L", "boiled off", self.evaporated_ml),
            plain("K", "how much more readily ethanol leaves", self.volatility, "", 1),
        )
        euler = plain("e", "base of natural logarithms", exp(1.0), "", 6)
        formula = "E * e ** (-K * L / V0)" if self.topped_up else "E * ((V0 - L) / V0) ** K"
        retained = share("s", f"left after {number(self.hours)} h", _usda_share(self.hours))
        return {
            "physics_ml": figure(
                "Ethanol left at a boil",
                self.physics_ml,
                "mL",
                formula,
                "Kept topped up." if self.topped_up else "Let boil down.",
                (*inputs, euler) if self.topped_up else inputs,
                source="Rayleigh distillation; K from memory",
            ),
            "kitchen_ml": figure(
                "Ethanol left, by the kitchen table",
                self.kitchen_ml,
                "mL",
                "E * s",
                "The share printed for simmered dishes.",
                (inputs[0], retained),
                source="USDA Table of Nutrient Retention Factors",
            ),
        }


def _usda_share(hours: float) -> float:
    return between(USDA_RETENTION, min(hours, USDA_RETENTION[-1][0]))


def ethanol_left(
    *,
    ethanol_ml: float,
    start_ml: float,
    evaporated_ml: float,
    hours: float,
    topped_up: bool,
    volatility: float = VOLATILITY,
) -> EthanolLeft:
    """What may be left of `ethanol_ml` in a pot of `start_ml` that lost `evaporated_ml` in `hours`.

    `volatility` is K of (V / V0) ** K, let boil down, or exp(-K L / V), kept topped up: above 1.
    """
    need_not_negative(ethanol_ml, "The ethanol in the marc")
    need_positive(start_ml, "The pot")
    need_not_negative(evaporated_ml, "What boiled off")
    need_not_negative(hours, "The time on the heat")
    if not 1.0 <= volatility <= 20.0:
        raise OutOfRange(
            "Ethanol leaves weak liquid about 10 times as readily as water (from memory): between 1 and 20, "
            f"not {number(volatility)}."
        )
    if not topped_up and evaporated_ml > start_ml:
        raise OutOfRange("More cannot boil off than was in the pot, unless it was topped up.")
    if topped_up:
        physics = ethanol_ml * exp(-volatility * evaporated_ml / start_ml)
    else:
        physics = ethanol_ml * ((start_ml - evaporated_ml) / start_ml) ** volatility
    kitchen = ethanol_ml * _usda_share(hours)
    high = max(kitchen, physics)
    return EthanolLeft(
        ethanol_ml, start_ml, evaporated_ml, hours, topped_up, 0.0, physics, kitchen, high, volatility
    )

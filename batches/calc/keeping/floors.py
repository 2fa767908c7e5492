"""The floors that keeping is judged by: each with its source and mark, each the workshop's to edit."""

from __future__ import annotations

from dataclasses import dataclass, replace

from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.sources import Mark, Sourced

_UNC = "University of North Carolina, pharmaceutics laboratory: Preserving Syrups"
_OILS = "Oklahoma State, Idaho, Maine and Oregon State extension bulletins on infused oils"
_TRADE = "taught by herbalists"

# Floors that the herb trade teaches for spirit; `Floors.ethanol_trade` is the one in force.
TRADE_FLOORS = (
    Sourced(20.0, "% vol", "trade floor, widely quoted", _TRADE, Mark.PRACTICE),
    Sourced(25.0, "% vol", "trade floor, double extracts", _TRADE, Mark.PRACTICE),
    Sourced(30.0, "% vol", "trade floor, the careful end", _TRADE, Mark.PRACTICE),
)


@dataclass(frozen=True, slots=True)
class Floors:
    """What each way of keeping needs. `changed` gives a copy with one number edited."""

    ethanol_acid: Sourced = Sourced(15.0, "% vol", "spirit at pH about 5", _UNC, Mark.READ)
    acid_ph: Sourced = Sourced(5.0, "pH", "where the lower spirit floor holds", _UNC, Mark.READ)
    ethanol_neutral: Sourced = Sourced(18.0, "% vol", "spirit, neutral or slightly alkaline", _UNC, Mark.READ)
    ethanol_trade: Sourced = TRADE_FLOORS[0]
    sugar_binds: Sourced = Sourced(0.53, "mL/g", "water that a gram of sucrose keeps", _UNC, Mark.READ)
    sugar_fills: Sourced = Sourced(0.647, "mL/g", "volume of a gram of sucrose", _UNC, Mark.READ)
    syrup: Sourced = Sourced(
        64.5,
        "% w/w",
        "sucrose in a syrup",
        "below USP Syrup, 64.7 % w/w; BP Syrup has 66.7 % w/w",
        Mark.DERIVED,
    )
    syrup_cold: Sourced = Sourced(40.0, "% w/w", "sugar in a syrup kept cold", "", Mark.PRACTICE)
    honey_water: Sourced = Sourced(18.6, "% w/w", "water in honey, at most", "", Mark.MEMORY)
    glycerol: Sourced = Sourced(
        65.0, "% w/w", "glycerol, about 60 % v/v", "water activity about 0.73 by Raoult's law", Mark.MIXED
    )
    glycerol_least: Sourced = Sourced(
        55.0, "% w/w", "glycerol kept cold", "water activity about 0.81 by Raoult's law", Mark.MIXED
    )
    acetic: Sourced = Sourced(4.0, "% w/v", "acetic acid", "", Mark.PRACTICE)
    vinegar_ph: Sourced = Sourced(4.0, "pH", "pH of a vinegar, at most", "", Mark.PRACTICE)
    hard_ph: Sourced = Sourced(
        4.6, "pH", "pH, at most", "Clemson extension, foodsafetysite.com: botulinum grows above it", Mark.READ
    )
    oil_moisture: Sourced = Sourced(10.0, "%", "water in a herb for oil, at most", _OILS, Mark.MEMORY)
    oil_moisture_most: Sourced = Sourced(12.0, "%", "water in a herb for oil kept cold", _OILS, Mark.MEMORY)
    oil_water: Sourced = Sourced(0.0, "g", "water added to an oil, at most", _OILS, Mark.READ)
    tea_hours: Sourced = Sourced(24.0, "h", "a water extract in the refrigerator, at most", "", Mark.PRACTICE)

    def changed(self, name: str, value: float, *, source: str = "this workshop's own setting") -> Floors:
        """These floors with `name` set to `value`, the workshop named as its source.

        Raises `OutOfRange` for a floor there is not, or a value no floor can have.
        """
        old = getattr(self, name, None)
        if not isinstance(old, Sourced):
            raise OutOfRange(f"There is no floor called {name}.")
        need_not_negative(value, f"The floor for {old.words}")
        if old.unit.startswith("%") and value > 100.0:
            raise OutOfRange(f"The floor for {old.words} must lie between 0 and 100 {old.unit}.")
        return replace(self, **{name: replace(old, value=value, source=source, mark=Mark.PRACTICE)})


FLOORS = Floors()

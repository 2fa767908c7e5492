"""Where water boils above the sea: what a thermometer held in boiling water ought to show."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.points import boiling_point_at_altitude
from batches.calc.result import Result, figure, plain
from workshop.calc.working import Figure


@dataclass(frozen=True, slots=True)
class BoilingHere(Result):
    """Water's boiling point `metres` above the sea, by the cook's rule, in both scales."""

    metres: float
    celsius: float
    fahrenheit: float

    def figures(self) -> dict[str, Figure]:
        inputs = (plain("h", "height above the sea", self.metres, "m", 0),)
        source = "the cook's rule, 1.8 °F for 1,000 ft, as in printed altitude tables"
        rows = [
            ("celsius", "Water boils at", "°C", "100 - h / 304.8"),
            ("fahrenheit", "The same", "°F", "212 - 1.8 * h / 304.8"),
        ]
        return {
            key: figure(
                name, getattr(self, key), unit, formula, "Good to half a degree.", inputs, source=source
            )
            for key, name, unit, formula in rows
        }


def boiling_here(*, metres: float) -> BoilingHere:
    """Boiling point of plain water `metres` (0..4000) above the sea. Raises `OutOfRange`."""
    celsius = boiling_point_at_altitude(metres)
    return BoilingHere(metres, celsius, 32.0 + 1.8 * celsius)


def metres_from_feet(feet: float) -> float:
    """Metres in `feet` (international foot, exactly 0.3048 m)."""
    return feet * 0.3048

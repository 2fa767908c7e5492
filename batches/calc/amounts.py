"""What a person typed as an amount of liquid, as grams and as mL at 20 °C."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import grams, millilitres, volume_at
from batches.calc.errors import need_not_negative
from workshop.calc.units import UNITS, Quantity

ROOM_C = 20.0
# A liquid of unknown strength is weighed as one of about 60 % vol; it may be 10 % heavier or lighter.
UNKNOWN_G_PER_ML = 0.91


@dataclass(frozen=True, slots=True)
class Liquid:
    """An amount of a liquid of known strength: mass in g, volume in mL at 20 °C."""

    g: float
    ml: float


def from_volume(
    ml: float, abv: float | None, celsius: float = ROOM_C, density: float | None = None
) -> Liquid:
    """`ml` of `abv` % vol read at `celsius`; as read when nobody knows the strength.

    A liquid that is more than spirit and water goes by its own `density` (kg/m3 at 20 °C), as read: nobody
    tabulates its expansion. Raises `OutOfRange` for a hot spirit.
    """
    if density is not None:
        need_not_negative(ml, "A volume")
        return Liquid(ml * density / 1000.0, ml)
    if abv is None:
        need_not_negative(ml, "A volume")
        return Liquid(ml * UNKNOWN_G_PER_ML, ml)
    at_20 = volume_at(ml, abv, celsius, ROOM_C)
    return Liquid(grams(at_20, abv), at_20)


def from_mass(g: float, abv: float | None, density: float | None = None) -> Liquid:
    """`g` on the scale, of `abv` % vol; of `density` (kg/m3) where it is more than spirit and water."""
    need_not_negative(g, "A weight")
    if density is not None:
        return Liquid(g, 1000.0 * g / density)
    return Liquid(g, g / UNKNOWN_G_PER_ML if abv is None else millilitres(g, abv))


def measured(
    typed: Quantity, abv: float | None, celsius: Quantity | None = None, density: float | None = None
) -> Liquid:
    """A typed weight or volume of a liquid of `abv` % vol, or of its own `density`; a volume is taken at
    20 °C unless said."""
    if UNITS[typed.unit].dimension == "mass":
        return from_mass(float(typed.base), abv, density)
    return from_volume(float(typed.base), abv, float(celsius.base) if celsius else ROOM_C, density)

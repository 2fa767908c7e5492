"""The scale and the measure: a target as the scale shows it, and a weight back as a volume at 20 °C."""

from __future__ import annotations

from batches.calc.alcohol import grams, millilitres
from batches.calc.errors import OutOfRange, need_not_negative, number


def by_scale(*, volume_ml: float, abv: float, tare_g: float = 0.0) -> float:
    """What the scale shows for `volume_ml` (20 °C) of `abv` in a vessel of `tare_g`."""
    need_not_negative(tare_g, "The empty vessel")
    return grams(volume_ml, abv) + tare_g


def from_scale(*, shown_g: float, abv: float, tare_g: float = 0.0) -> float:
    """mL at 20 °C of a liquid of `abv` when the scale shows `shown_g` with its vessel of `tare_g`."""
    need_not_negative(tare_g, "The empty vessel")
    if shown_g < tare_g:
        raise OutOfRange(
            f"The scale shows {number(shown_g)} g, less than the empty vessel's {number(tare_g)} g."
        )
    return millilitres(shown_g - tare_g, abv)

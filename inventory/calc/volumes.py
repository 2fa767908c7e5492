"""From a typed volume to grams, and from grams to the pure alcohol in them.

Floats here; `workshop.calc.rounding.to_stock` is the crossing to stock amounts.
"""

from __future__ import annotations

from workshop.calc import ethanol
from workshop.calc.errors import OutOfRange

REFERENCE = 20.0


class BadVolume(ValueError):
    """A volume that cannot become grams; the message is a sentence."""


def grams_of(
    volume_ml: float, *, abv: float | None, density_20: float | None, celsius: float | None = None
) -> float:
    """Grams in `volume_ml` mL measured at `celsius` °C (20 when not said).

    With a strength (% vol at 20 °C) by the density of ethanol-water mixtures at that temperature (OIML R 22);
    else by `density_20` (kg/m3 at 20 °C), for which the temperature is not corrected. Raises `BadVolume`.
    """
    if abv is not None:
        try:
            return (
                volume_ml * ethanol.density_from_abv(abv, REFERENCE if celsius is None else celsius) / 1000.0
            )
        except OutOfRange as refusal:
            raise BadVolume(str(refusal)) from refusal
    if density_20 is not None:
        return volume_ml * density_20 / 1000.0
    raise BadVolume("a volume becomes a weight by its strength. Give the strength, or weigh it.")


def pure_ml(mass_g: float, abv: float) -> float:
    """Pure alcohol in mL at 20 °C in `mass_g` g of a spirit of `abv` % vol (at 20 °C)."""
    return mass_g / ethanol.density_from_abv(abv) * 1000.0 * abv / 100.0


def volume_ml(mass_g: float, *, abv: float | None, density_20: float | None) -> float | None:
    """The volume at 20 °C of `mass_g` g: by the measured density if there is one, else by the strength.

    None where neither is known.
    """
    if density_20:
        return mass_g / density_20 * 1000.0
    if abv is not None:
        return mass_g / ethanol.density_from_abv(abv) * 1000.0
    return None

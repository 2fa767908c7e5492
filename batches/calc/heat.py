"""First guesses of a pot's water loss, before its first two readings; and the vapour pressure behind them."""

from __future__ import annotations

from math import exp

from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive, number
from batches.calc.potsize import pot_area_cm2


def boiling_rate_ml_h(*, kilowatts: float, efficiency: float) -> float:
    """mL of water an hour that a burner of `kilowatts` boils off; `efficiency` 0..1 (gas about .35-.5).

    3600 s/h over 2257 kJ/kg, the heat of vaporisation at 100 °C; a kilogram is taken as 1,000 mL.
    """
    need_positive(kilowatts, "The burner's power")
    need_fraction(efficiency, "The efficiency")
    return 3600.0 * efficiency * kilowatts / 2257.0 * 1000.0


def vapour_pressure_kpa(celsius: float) -> float:
    """Vapour pressure of water in kPa, 0..100 °C. Source: A. L. Buck (1981, revised 1996)."""
    if not 0.0 <= celsius <= 100.0:
        raise OutOfRange(f"Water is liquid between 0 and 100 °C; {number(celsius)} °C is outside.")
    return 0.61121 * exp((18.678 - celsius / 234.5) * (celsius / (257.14 + celsius)))


def simmering_rate_ml_h(
    *, celsius: float, diameter_cm: float, air_m_s: float = 0.1, air_kpa: float = 1.17
) -> float:
    """mL of water an hour off an open pot below the boil: a first guess, half to one and a half times.

    (0.089 + 0.0782 v)(ps - pa) / latent heat, kg/(s m2), as ASHRAE gives for pools (from memory, stretched to
    hot pots); `air_kpa` is the room's vapour pressure (20 °C, half saturated).
    """
    need_not_negative(air_m_s, "The air speed")
    latent = 2501.0 - 2.36 * celsius
    per_m2 = (0.089 + 0.0782 * air_m_s) * (vapour_pressure_kpa(celsius) - air_kpa) / latent
    return max(0.0, per_m2) * pot_area_cm2(diameter_cm) / 1e4 * 3600.0 * 1000.0

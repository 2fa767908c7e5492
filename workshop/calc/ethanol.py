"""Density and strength of ethanol and water: the core that both stock and making rest on.

Floats in, floats out. Density is kg/m3 in vacuum, strength is % vol at 20 °C, mass fraction is 0..1.
Everything rests on OIML R 22 (1975), section 4, which holds for -20..40 °C and the liquid region.
"""

from __future__ import annotations

from functools import lru_cache

from workshop.calc.errors import OutOfRange, number
from workshop.calc.r22 import polynomial
from workshop.calc.roots import find_root

LEAST_CELSIUS, MOST_CELSIUS = -20.0, 40.0
# kg/m3: what the last bits of a float may add to a density at either end.
_HAIR = 1e-9
# Mass fraction against freezing point, from memory (widely printed for 0, 10, 20, 30, 40 % vol).
FREEZING = ((0.0, 0.0), (0.0802, -4.0), (0.1621, -9.0), (0.2461, -15.0), (0.3330, -23.0))


def density(mass_fraction: float, celsius: float) -> float:
    """Density in kg/m3 of a mixture of `mass_fraction` (0..1) ethanol at `celsius` (-20..40).

    Source: OIML R 22. Raises `OutOfRange`.
    """
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutOfRange(
            f"A share of ethanol by mass lies between 0 and 1; {number(mass_fraction)} does not."
        )
    if not LEAST_CELSIUS <= celsius <= MOST_CELSIUS:
        raise OutOfRange(f"The density formula holds from -20 to 40 °C; {number(celsius)} °C is outside.")
    if celsius < 0.0:
        _need_liquid(mass_fraction, celsius)
    return polynomial(mass_fraction, celsius)


def _need_liquid(mass_fraction: float, celsius: float) -> None:
    """Refuse what is frozen, one degree of grace (the table is coarse)."""
    for (p0, t0), (p1, t1) in zip(FREEZING, FREEZING[1:], strict=False):
        if mass_fraction < p1:
            if celsius < t0 + (t1 - t0) * (mass_fraction - p0) / (p1 - p0) - 1.0:
                raise OutOfRange(f"At {number(celsius)} °C a liquid this weak is frozen.")
            return


ETHANOL_20 = polynomial(1.0, 20.0)
WATER_20 = polynomial(0.0, 20.0)


def abv_from_mass_fraction(mass_fraction: float, reference: float = 20.0) -> float:
    """% vol at `reference` °C from the mass fraction. Source: Directive 76/766/EEC Annex, section 1."""
    strength = 100.0 * mass_fraction * density(mass_fraction, reference) / polynomial(1.0, reference)
    return min(100.0, strength)  # the last bit of a float may lie above


@lru_cache(maxsize=8192)
def mass_fraction_from_abv(abv: float, reference: float = 20.0) -> float:
    """Mass fraction from % vol (0..100) at `reference` °C (60 F is 15.5556), to 1e-12."""
    if not 0.0 <= abv <= 100.0:
        raise OutOfRange(f"A strength lies between 0 and 100 % vol; {number(abv)} % vol does not.")
    wanted = abv / 100.0 * density(1.0, reference)
    return find_root(lambda p: p * polynomial(p, reference) - wanted, 0.0, 1.0)


def mass_fraction_from_density(density: float, celsius: float) -> float:
    """Mass fraction of the mixture that has `density` (kg/m3) at `celsius`. Raises `OutOfRange`."""
    if not LEAST_CELSIUS <= celsius <= MOST_CELSIUS:
        raise OutOfRange(f"The density formula holds from -20 to 40 °C; {number(celsius)} °C is outside.")
    heaviest, lightest = polynomial(0.0, celsius), polynomial(1.0, celsius)
    if not lightest - _HAIR <= density <= heaviest + _HAIR:
        raise OutOfRange(
            f"At {number(celsius)} °C spirit and water have densities between {lightest:.2f} and "
            f"{heaviest:.2f} kg/m3; {number(density)} is outside."
        )
    inside = min(heaviest, max(lightest, density))
    p = find_root(lambda x: polynomial(x, celsius) - inside, 0.0, 1.0)
    if celsius < 0.0:
        _need_liquid(p, celsius)
    return p


def density_from_abv(abv: float, celsius: float = 20.0) -> float:
    """Density in kg/m3 at `celsius` of a liquid of `abv` % vol (at 20 °C)."""
    return density(mass_fraction_from_abv(abv), celsius)

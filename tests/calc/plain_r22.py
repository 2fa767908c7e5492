"""Spirit and water at 20 °C reckoned apart from the project: the tests' own polynomial and bisection.

Density in kg/m3 from the mass fraction: OIML R 22 (1975), section 4, and Council Directive 76/766/EEC, Annex,
the coefficients A1 to A12 typed from there. Nothing of batches.calc is used here.
"""

from __future__ import annotations

A = (
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
)


def rho(p: float) -> float:
    """kg/m3 of a mass fraction."""
    return sum(a * p**k for k, a in enumerate(A))


PURE, WATER = rho(1.0), rho(0.0)


def abv_of(p: float) -> float:
    """% vol of a mass fraction."""
    return 100.0 * p * rho(p) / PURE


def fraction(abv: float) -> float:
    """Mass fraction of a strength, by halving."""
    low, high = 0.0, 1.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if abv_of(middle) < abv else (low, middle)
    return (low + high) / 2.0


def weight(ml: float, abv: float) -> float:
    """g of so many mL."""
    return ml * rho(fraction(abv)) / 1000.0


def mixed(*parts: tuple[float, float], water_g: float = 0.0) -> tuple[float, float]:
    """(mL, % vol) of (mL, % vol) liquids and `water_g` g of water together."""
    mass = sum(weight(*part) for part in parts) + water_g
    ethanol = sum(ml * abv / 100.0 for ml, abv in parts) * PURE / 1000.0
    p = ethanol / mass
    return mass / rho(p) * 1000.0, abv_of(p)


def needed(menstruum_ml: float, water_g: float, target: float) -> float:
    """The strength a menstruum must have for the jar to come to `target`, by halving."""
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2.0
        landed = mixed((menstruum_ml, middle), water_g=water_g)[1]
        low, high = (middle, high) if landed < target else (low, middle)
    return (low + high) / 2.0

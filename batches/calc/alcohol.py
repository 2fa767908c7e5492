"""Ethanol and water: density, strength, proof, and what a reading at another temperature means.

Density-level functions: floats in, floats out, names carry the units. Density is kg/m3 in vacuum,
strength is % vol at 20 °C, mass fraction is 0..1. Everything rests on OIML R 22 (1975), section 4,
which holds for -20..40 °C and the liquid region. Outside: `OutOfRange`, with a sentence.
Never add volumes: add masses and ethanol masses, then convert.
"""

from __future__ import annotations

from functools import lru_cache

from batches.calc.errors import OutOfRange, need_not_negative, number
from batches.calc.points import boiling_point as boiling_point
from batches.calc.points import flash_point as flash_point
from batches.calc.r22 import polynomial
from batches.calc.roots import find_root
from batches.calc.water import water_density

SOURCE = "OIML R 22 (1975), section 4"
SIXTY_F = (60.0 - 32.0) / 1.8
SODA_LIME_GLASS = 25e-6
AIR = 1.2
STEEL_WEIGHTS = 8000.0
LEAST_CELSIUS, MOST_CELSIUS = -20.0, 40.0
WATER_LIKE_ABV = 1.0
# Mass fraction against freezing point, from memory (widely printed for 0, 10, 20, 30, 40 % vol).
_FREEZING = ((0.0, 0.0), (0.0802, -4.0), (0.1621, -9.0), (0.2461, -15.0), (0.3330, -23.0))


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
    for (p0, t0), (p1, t1) in zip(_FREEZING, _FREEZING[1:], strict=False):
        if mass_fraction < p1:
            if celsius < t0 + (t1 - t0) * (mass_fraction - p0) / (p1 - p0) - 1.0:
                raise OutOfRange(f"At {number(celsius)} °C a liquid this weak is frozen.")
            return


ETHANOL_20 = polynomial(1.0, 20.0)
WATER_20 = polynomial(0.0, 20.0)


def abv_from_mass_fraction(mass_fraction: float, reference: float = 20.0) -> float:
    """% vol at `reference` °C from the mass fraction. Source: Directive 76/766/EEC Annex, section 1."""
    return 100.0 * mass_fraction * density(mass_fraction, reference) / polynomial(1.0, reference)


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
    if not lightest <= density <= heaviest:
        raise OutOfRange(
            f"At {number(celsius)} °C spirit and water have densities between {lightest:.2f} and "
            f"{heaviest:.2f} kg/m3; {number(density)} is outside."
        )
    p = find_root(lambda x: polynomial(x, celsius) - density, 0.0, 1.0)
    if celsius < 0.0:
        _need_liquid(p, celsius)
    return p


def density_from_abv(abv: float, celsius: float = 20.0) -> float:
    """Density in kg/m3 at `celsius` of a liquid of `abv` % vol (at 20 °C)."""
    return density(mass_fraction_from_abv(abv), celsius)


def grams(volume_ml: float, abv: float) -> float:
    """Mass in g of `volume_ml` mL at 20 °C of a liquid of `abv` % vol."""
    return volume_ml * density_from_abv(abv) / 1000.0


def millilitres(mass_g: float, abv: float) -> float:
    """Volume in mL at 20 °C of `mass_g` g of a liquid of `abv` % vol."""
    return mass_g / density_from_abv(abv) * 1000.0


def ethanol_g(volume_ml: float, abv: float) -> float:
    """Grams of pure ethanol in `volume_ml` mL (20 °C) of `abv` % vol."""
    return volume_ml * abv / 100.0 * ETHANOL_20 / 1000.0


def true_abv(
    reading: float, celsius: float, expansion: float = SODA_LIME_GLASS, *, reference: float = 20.0
) -> float:
    """True % vol from an alcoholometer graduated at `reference` °C, read at `celsius`.

    `expansion` is the cubic expansion of the instrument per degree (soda-lime glass 25e-6, OIML R 22
    tables VIII and IX). With `reference` 15.5556 both reading and result are % vol at 60 F.
    Raises `OutOfRange` for a reading no spirit can give at that temperature.
    """
    floated = density(mass_fraction_from_abv(reading, reference), reference)
    p = mass_fraction_from_density(floated * (1.0 - expansion * (celsius - reference)), celsius)
    return abv_from_mass_fraction(p, reference)


def volume_at(volume: float, abv: float, celsius_from: float, celsius_to: float) -> float:
    """The volume, in its own unit, that `volume` read at `celsius_from` has at `celsius_to`.

    Above 40 °C only for water and water extracts (`abv` up to 1 %): then by water's density (Kell 1975).
    Raises `OutOfRange`.
    """
    need_not_negative(volume, "A volume")
    if max(celsius_from, celsius_to) <= MOST_CELSIUS:
        p = mass_fraction_from_abv(abv)
        return volume * density(p, celsius_from) / density(p, celsius_to)
    if not 0.0 <= abv <= WATER_LIKE_ABV:
        raise OutOfRange(
            f"Above 40 °C only a water extract's volume can be corrected, not {number(abv)} % vol: "
            "let it cool or weigh it."
        )
    return volume * water_density(celsius_from) / water_density(celsius_to)


def proof_from_abv(abv: float) -> float:
    """US proof (twice the % vol at 60 F; 27 CFR 30.11) of a liquid of `abv` % vol at 20 °C."""
    return 2.0 * abv_from_mass_fraction(mass_fraction_from_abv(abv), SIXTY_F)


def abv_from_proof(proof: float) -> float:
    """% vol at 20 °C of a liquid of `proof` US proof (0..200)."""
    if not 0.0 <= proof <= 200.0:
        raise OutOfRange(f"US proof lies between 0 and 200; {number(proof)} does not.")
    return abv_from_mass_fraction(mass_fraction_from_abv(proof / 2.0, SIXTY_F))


def density_in_air(density: float) -> float:
    """What a balance calibrated with steel weights makes of `density`, kg/m3.

    Air 1.2 kg/m3 and weights of 8000 kg/m3 by convention (OIML D 28, conventional value of mass).
    """
    return (density - AIR) / (1.0 - AIR / STEEL_WEIGHTS)


def relative_density_in_air(density: float, water: float) -> float:
    """Apparent relative density: `density` over `water` (kg/m3, in vacuum), both weighed in air."""
    return (density - AIR) / (water - AIR)

"""Ethanol and water: density, strength, proof, and what a reading at another temperature means.

Density-level functions: floats in, floats out, names carry the units. Density is kg/m3 in vacuum,
strength is % vol at 20 °C, mass fraction is 0..1. Everything rests on OIML R 22 (1975), section 4,
which holds for -20..40 °C and the liquid region. Outside: `OutOfRange`, with a sentence.
Never add volumes: add masses and ethanol masses, then convert.
"""

from __future__ import annotations

from batches.calc.errors import OutOfRange, need_not_negative, number
from batches.calc.points import boiling_point as boiling_point
from batches.calc.points import flash_point as flash_point
from batches.calc.water import water_density
from workshop.calc.ethanol import ETHANOL_20 as ETHANOL_20
from workshop.calc.ethanol import LEAST_CELSIUS as LEAST_CELSIUS
from workshop.calc.ethanol import MOST_CELSIUS as MOST_CELSIUS
from workshop.calc.ethanol import WATER_20 as WATER_20
from workshop.calc.ethanol import abv_from_mass_fraction as abv_from_mass_fraction
from workshop.calc.ethanol import density as density
from workshop.calc.ethanol import density_from_abv as density_from_abv
from workshop.calc.ethanol import mass_fraction_from_abv as mass_fraction_from_abv
from workshop.calc.ethanol import mass_fraction_from_density as mass_fraction_from_density

SOURCE = "OIML R 22 (1975), section 4"
SIXTY_F = (60.0 - 32.0) / 1.8
SODA_LIME_GLASS = 25e-6
AIR = 1.2
STEEL_WEIGHTS = 8000.0
WATER_LIKE_ABV = 1.0


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

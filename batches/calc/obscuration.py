"""What dissolved matter hides: an alcoholometer reads low in an extract, because solids make it heavier.

A hydrometer is made for spirit and water only. The honest ways: distil; or boil the alcohol off, make the
residue up to the old volume and take both densities (Tabarie 1830); or take off what the dry residue weighs.
"""

from __future__ import annotations

from batches.calc.alcohol import (
    WATER_20,
    abv_from_mass_fraction,
    density_from_abv,
    mass_fraction_from_density,
)
from batches.calc.errors import OutOfRange, need_not_negative, number

# Density that 1 g/L of sucrose-like solids adds, kg/m3 (OIV expresses extract as sucrose); resins add less.
SUCROSE_LIKE = 0.385
# 27 CFR 30.31-32: above this the distillate must be measured.
MOST_RESIDUE_G_L = 6.0


def obscuration_proof(*, solids_g_per_100ml: float, proof: float) -> float:
    """US proof hidden by dissolved solids: 0.4 proof per 0.1 g in 100 mL, 80-100 proof only.

    Source: 27 CFR 30.32(b). Raises `OutOfRange`.
    """
    need_not_negative(solids_g_per_100ml, "The dissolved solids")
    if not 80.0 <= proof <= 100.0:
        raise OutOfRange(f"The factor holds from 80 to 100 proof; {number(proof)} is outside.")
    return 4.0 * solids_g_per_100ml


def apparent_abv(*, abv: float, residue_g_l: float, k: float = SUCROSE_LIKE) -> float:
    """What an alcoholometer makes of a true `abv` with `residue_g_l` g/L dissolved (both at 20 °C)."""
    need_not_negative(residue_g_l, "The dry residue")
    return _abv_at(density_from_abv(abv) + k * residue_g_l)


def true_from_residue(*, apparent: float, residue_g_l: float, k: float = SUCROSE_LIKE) -> float:
    """True % vol from the apparent one and the dry residue in g/L.

    Good to about half a % vol per 10 g/L, as `k` depends on what is dissolved (0.30 to 0.45).
    """
    need_not_negative(residue_g_l, "The dry residue")
    return _abv_at(density_from_abv(apparent) - k * residue_g_l)


def true_from_residue_density(*, sample: float, residue: float) -> float:
    """True % vol from the density of the sample and of its residue made up to volume, kg/m3 at 20 °C.

    Relative densities: alcohol = sample - residue + 1. Source: Tabarie (1830); OIV-MA-AS2-03B.
    """
    return _abv_at(sample - residue + WATER_20)


def _abv_at(density: float) -> float:
    return abv_from_mass_fraction(mass_fraction_from_density(density, 20.0))

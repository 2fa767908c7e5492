"""The published tables, one by one: each case in alcohol_cases.json names where it was printed.

Conversions on this side are for units and scales only (proof, pounds, gallons, 60 F); the arithmetic
under test is batches.calc's.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from batches.calc import alcohol as a
from batches.calc.mixing import blend, dilute, make_up
from batches.calc.obscuration import obscuration_proof
from batches.calc.points import BOILING_TABLE, mole_fraction
from batches.calc.roots import find_root

CASES: list[dict[str, Any]] = json.loads(Path(__file__).with_name("alcohol_cases.json").read_text("utf-8"))
SIXTY_F = (60 - 32) / 1.8
GALLON_L, POUND_G = 3.785411784, 453.59237


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def p_60f(abv_60f: float) -> float:
    return a.mass_fraction_from_abv(abv_60f, SIXTY_F)


def sg_vacuum_60f(proof: float) -> float:
    return a.density(p_60f(proof / 2), SIXTY_F) / a.density(0.0, SIXTY_F)


def sg_air(p: float, at: float) -> float:
    return a.relative_density_in_air(a.density(p, at), a.density(0.0, at))


def pounds_per_gallon(proof: float) -> float:
    return a.density_in_air(a.density(p_60f(proof / 2), SIXTY_F)) * GALLON_L / POUND_G


def water_to_add(volume: float, abv: float, target: float, ref_temp_c: float) -> float:
    """At 20 °C `dilute` itself; on another scale the same balance by mass."""
    if ref_temp_c == 20:
        return dilute(volume, abv, target).water_ml
    p1, p2 = (a.mass_fraction_from_abv(x, ref_temp_c) for x in (abv, target))
    grams = volume * a.density(p1, ref_temp_c) * (p1 / p2 - 1)
    return grams / a.density(0.0, ref_temp_c)


def blend_from(parts: list[list[float]], measured_at_c: float, scale: str) -> Any:
    at_20 = []
    for ml, strength in parts:
        abv = a.abv_from_proof(2 * strength) if scale == "60F" else strength
        at_20.append((a.volume_at(ml, abv, measured_at_c, 20.0), abv))
    return blend(at_20)


def blend_volume(parts: list[list[float]], abv_scale: str, measured_at_c: float) -> float:
    made = blend_from(parts, measured_at_c, abv_scale)
    return a.volume_at(made.ml, made.abv, 20.0, measured_at_c)


def volume_to_20(volume_ml: float, temp_c: float, density20: float) -> float:
    abv = a.abv_from_mass_fraction(a.mass_fraction_from_density(density20, 20.0))
    return a.volume_at(volume_ml, abv, temp_c, 20.0)


def to_60f(volume: float, proof: float, temp_f: float) -> float:
    return a.volume_at(volume, a.abv_from_proof(proof), celsius(temp_f), SIXTY_F)


def water_per_100_at_60f(proof: float) -> float:
    p = p_60f(proof / 2)
    return 100 * a.density(p, SIXTY_F) * (1 - p) / a.density(0.0, SIXTY_F)


def lowest_boiling_mass_percent() -> float:
    """Where the boiling table (Perry) is lowest; the case comes from another source (Evans 1916)."""
    lowest = min(BOILING_TABLE, key=lambda row: row[1])[0]
    return 100 * find_root(lambda p: mole_fraction(p) - lowest, 0.0, 1.0)


ANSWERS: dict[str, Callable[..., float]] = {
    "density_from_mass_percent": lambda mass_percent, temp_c: a.density(mass_percent / 100, temp_c),
    "density_from_abv": lambda abv, temp_c: a.density_from_abv(abv, temp_c),
    "abv_from_mass_percent": lambda mass_percent: a.abv_from_mass_fraction(mass_percent / 100),
    "mass_percent_from_abv": lambda abv: 100 * a.mass_fraction_from_abv(abv),
    "mass_percent_from_density20": lambda density: 100 * a.mass_fraction_from_density(density, 20.0),
    "abv_from_density20": lambda density: a.abv_from_mass_fraction(
        a.mass_fraction_from_density(density, 20.0)
    ),
    "true_abv20_from_alcoholometer": lambda reading, temp_c, glass_alpha_per_c: a.true_abv(
        reading, temp_c, glass_alpha_per_c
    ),
    "grams_ethanol_per_100ml": lambda abv: a.ethanol_g(100.0, abv),
    "density_in_air_absolute_ethanol": lambda temp_c: a.density_in_air(a.density(1.0, temp_c)),
    "mass_percent_from_abv_60F": lambda abv_60F: 100 * p_60f(abv_60F),
    "sg_air_60F_from_abv_60F": lambda abv_60F: sg_air(p_60f(abv_60F), SIXTY_F),
    "sg_air_25C_from_abv_60F": lambda abv_60F: sg_air(p_60f(abv_60F), 25.0),
    "abv_60F_from_mass_percent": lambda mass_percent: a.abv_from_mass_fraction(mass_percent / 100, SIXTY_F),
    "mass_percent_from_sg20_20": lambda sg_20_20: (
        100 * a.mass_fraction_from_density(sg_20_20 * a.WATER_20, 20.0)
    ),
    "volume_to_20C": volume_to_20,
    "water_parts_per_100_vol_60F": water_per_100_at_60f,
    "sg_vacuum_60F_from_proof": sg_vacuum_60f,
    "sg_air_60F_from_proof": lambda proof: sg_air(p_60f(proof / 2), SIXTY_F),
    "lb_per_wine_gallon_air_60F": pounds_per_gallon,
    "wine_gallons_per_lb": lambda proof: 1 / pounds_per_gallon(proof),
    "proof_gallons_per_lb": lambda proof: proof / 100 / pounds_per_gallon(proof),
    "water_mass_to_reduce": lambda mass, from_proof, to_proof: (
        mass * (p_60f(from_proof / 2) / p_60f(to_proof / 2) - 1)
    ),
    "water_to_add_volume": water_to_add,
    "wine_gallons_from_lb": lambda lb, proof: lb / pounds_per_gallon(proof),
    "true_proof_from_hydrometer": lambda reading_proof, temp_f, glass_alpha_per_c: (
        2 * a.true_abv(reading_proof / 2, celsius(temp_f), glass_alpha_per_c, reference=SIXTY_F)
    ),
    "true_abv60F_from_hydrometer": lambda reading_abv_60F, temp_f, glass_alpha_per_c: a.true_abv(
        reading_abv_60F, celsius(temp_f), glass_alpha_per_c, reference=SIXTY_F
    ),
    "volume_factor_to_60F": lambda proof, temp_f: to_60f(1.0, proof, temp_f),
    "volume_to_60F": to_60f,
    "water_ml_for_final_volume_at_20C": lambda strong_abv, target_abv, final_ml: (
        make_up(final_ml, target_abv, strong_abv).water_ml
    ),
    "spirit_ml_for_final_volume": lambda strong_abv, target_abv, final_ml: (
        make_up(final_ml, target_abv, strong_abv).spirit_ml
    ),
    "blend_final_volume": blend_volume,
    "blend_final_abv_60F": lambda parts, measured_at_c: (
        a.proof_from_abv(blend_from(parts, measured_at_c, "60F").abv) / 2
    ),
    "obscuration_proof": lambda solids_g_per_100ml, valid_proof_range: obscuration_proof(
        solids_g_per_100ml=solids_g_per_100ml, proof=sum(valid_proof_range) / 2
    ),
    "flash_point_c_lookup": lambda mass_percent: a.flash_point(mass_percent / 100).value,
    "boiling_point_c_lookup": lambda mole_fraction_ethanol: a.boiling_point(mole_fraction_ethanol).value,
    "azeotrope_mass_percent": lambda pressure_kpa: lowest_boiling_mass_percent(),
}


def test_all_published_cases_are_here() -> None:
    assert len(CASES) == 212
    assert {case["what"] for case in CASES} == set(ANSWERS)


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['what']}-{list(c['inputs'].values())}")
def test_it_agrees_with_the_published_value(case: dict[str, Any]) -> None:
    found = ANSWERS[case["what"]](**case["inputs"])
    assert abs(found - case["expected"]) <= case["tolerance"], case["source"]

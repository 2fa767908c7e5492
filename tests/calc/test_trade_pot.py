"""Worked values of the trade, T32 to T36: the pot's loss, its first guess, and the marc's ethanol.

Derived values are worked out again in the test: by numpy, the gas law, or OIML R 22 typed apart.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from pytest import approx

from batches.calc.decoction import (
    Reading,
    boiling_prior,
    ethanol_left,
    evaporation_rate,
    pot_area_cm2,
    pot_ml,
    time_to_target,
)
from batches.calc.extraction import pressed
from batches.calc.mixing import with_plant_water
from batches.calc.vapour import vapour
from tests.calc import plain_r22 as by_hand

HOURS, DEPTHS = (0, 0.5, 1.0, 1.5), (12.0, 11.1, 10.3, 9.4)


def test_t32_a_boil_read_by_its_level() -> None:
    """12.0, 11.1, 10.3, 9.4 cm at half hours in a 24 cm pot: 1.720 cm/h, 778 mL/h, 2.89 h from 4252 to
    2000 mL. The slope again by numpy's polyfit."""
    found = evaporation_rate([Reading(h, pot_ml(24, depth)) for h, depth in zip(HOURS, DEPTHS, strict=True)])
    slope = float(np.polyfit(HOURS, DEPTHS, 1)[0])
    assert pot_area_cm2(24) == approx(452.4, abs=0.05)
    assert pot_area_cm2(24) == approx(pi * 144, abs=0.05)
    assert slope == approx(-1.720, abs=0.0005)
    assert found.ml_per_h == approx(778, abs=0.5)
    assert found.ml_per_h == approx(-slope * pi * 144, abs=0.5)
    left = time_to_target(now_ml=pot_ml(24, 9.4), target_ml=2000, rate_ml_h=found.ml_per_h)
    assert left.now_ml == approx(4252, abs=0.6)
    assert left.hours == approx(2.89, abs=0.005)
    assert left.hours == approx((9.4 * pi * 144 - 2000) / (-slope * pi * 144))


def test_t33_eighteen_millimetres_an_hour() -> None:
    """1.8 cm/h of a surface of 452.4 cm2: 814 mL/h."""
    found = evaporation_rate([Reading(0, pot_ml(24, 12.0)), Reading(1, pot_ml(24, 10.2))])
    assert found.ml_per_h == approx(814, abs=0.5)
    assert found.ml_per_h == approx(1.8 * pi * 144, abs=0.5)


def test_t34_a_gas_burner_of_one_and_a_half_kilowatts() -> None:
    """Heat of vaporisation 2257 kJ/kg at 100 °C (steam tables): half of 1.5 kW boils off 1.196 kg/h."""
    found = boiling_prior(kilowatts=1.5, heat="gas", efficiency=0.5)
    assert found.ml_per_h / 1000 == approx(1.196, abs=0.0005)
    assert found.ml_per_h / 1000 == approx(0.75 * 3600 / 2257, abs=0.0005)


@pytest.mark.parametrize(
    ("retention", "out", "ml", "grams", "percent"),
    [
        (2.0, 647, 217, 172, 36),
        (1.0, 831, 109, 86, 18),
        (0.8, 868, 87, 69, 15),
        (0.5, 923, 54, 43, 9),
    ],
    ids=["drained", "hand", "hand-wrung", "press"],
)
def test_t35_ethanol_that_the_marc_carries(
    retention: float, out: float, ml: float, grams: float, percent: float
) -> None:
    """200 g of reishi at 8 % (184 g dry) in 1000 mL of 60 %: 1015.3 mL at 59.09 % (R 22). Whole figures,
    within one unit of the last digit."""
    jar = with_plant_water(1000, 60, 200, 0.08)
    volume, strength = by_hand.mixed((1000, 60), water_g=16)
    assert (jar.ml, jar.abv) == (approx(1015.3, abs=0.06), approx(59.09, abs=0.005))
    assert (jar.ml, jar.abv) == approx((volume, strength))
    held = retention * 184
    found = pressed(jar_ml=jar.ml, jar_abv=jar.abv, herb_g=200, moisture=0.08, pressed_ml=jar.ml - held)
    assert found.pressed_ml == approx(out, abs=0.5)
    assert found.pressed_ml == approx(volume - held, abs=0.5)
    assert found.marc_ethanol_ml == approx(ml, abs=0.5)
    assert found.marc_ethanol_ml == approx(held * strength / 100, abs=0.5)
    assert found.marc_ethanol_g == approx(grams, abs=0.5)
    assert found.marc_ethanol_g == approx(held * strength / 100 * by_hand.PURE / 1000)
    assert found.marc_ethanol_percent == approx(percent, abs=0.55)
    assert found.marc_ethanol_percent == approx(100 * held / volume, abs=0.55)


def test_t36_air_that_120_ml_of_ethanol_make_flammable() -> None:
    """94.7 g, 49.5 L of vapour at 20 °C (gas law), 1.5 m3 to the lower limit of 3.3 % (safety data)."""
    found = vapour(120)
    assert found.ethanol_g == approx(94.7, abs=0.05)
    assert found.ethanol_g == approx(120 * by_hand.PURE / 1000, abs=0.05)
    litres = 120 * by_hand.PURE / 1000 / 46.069 * 8.314462618 * 293.15 / 101.325
    assert found.vapour_l == approx(49.5, abs=0.05)
    assert found.vapour_l == approx(litres, abs=0.05)
    assert found.air_m3 == approx(1.5, abs=0.005)
    assert found.air_m3 == approx(litres / 33, abs=0.005)
    assert approx(3.75) == 100 * 120 / 3200  # % by volume of a 3.2 L pot


def test_a_litre_and_a_fifth_off_a_full_pot_leave_2_4_percent() -> None:
    """exp(-10 x 1.2 / 3.2): Rayleigh distillation at a constant level, K 10 from memory; by small steps."""
    found = ethanol_left(ethanol_ml=100, start_ml=3200, evaporated_ml=1200, hours=2, topped_up=True)
    left = 100.0
    for _ in range(12_000):
        left -= left / 3200 * 10 * 0.1  # 0.1 mL boils off, ten times as rich; as much water is poured on
    assert found.physics_ml == approx(2.4, abs=0.05)
    assert found.physics_ml == approx(left, rel=0.005)


def test_a_pot_that_boils_down_by_small_steps() -> None:
    """(V / V0) ** 10 (Rayleigh): a fifth boiled off leaves 11 %."""
    found = ethanol_left(ethanol_ml=100, start_ml=3200, evaporated_ml=640, hours=1, topped_up=False)
    left, pot = 100.0, 3200.0
    for _ in range(6400):
        left, pot = left - left / pot * 10 * 0.1, pot - 0.1
    assert found.physics_ml == approx(10.7, abs=0.05)
    assert found.physics_ml == approx(left, rel=0.005)

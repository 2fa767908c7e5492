"""The densities against reference libraries: water by IAPWS-95, pure ethanol by CoolProp, units by pint."""

from __future__ import annotations

import CoolProp.CoolProp as cp
import pytest
from iapws import IAPWS95

from batches.calc.alcohol import density, volume_at
from batches.calc.heat import vapour_pressure_kpa
from batches.calc.points import boiling_point, boiling_point_at_altitude
from batches.calc.water import water_density

ATMOSPHERE = 0.101325


def iapws_water(celsius: float) -> float:
    return float(IAPWS95(T=celsius + 273.15, P=ATMOSPHERE).rho)


@pytest.mark.parametrize("celsius", [0.5, 5, 10, 15, 20, 25, 30, 35, 40])
def test_cold_water_agrees_with_iapws_95(celsius: float) -> None:
    assert density(0.0, celsius) == pytest.approx(iapws_water(celsius), abs=0.01)


@pytest.mark.parametrize("celsius", [0.5, 4, 10, 20, 30, 40, 50, 60, 71, 80, 82, 90, 95, 99])
def test_hot_water_agrees_with_iapws_95(celsius: float) -> None:
    assert water_density(celsius) == pytest.approx(iapws_water(celsius), abs=0.03)


@pytest.mark.parametrize("celsius", [-20, -10, 0, 10, 20, 30, 40])
def test_pure_ethanol_agrees_with_coolprop(celsius: float) -> None:
    """The equation of state lies 0.16 to 0.23 kg/m3 above R 22 over the whole range."""
    reference = cp.PropsSI("D", "T", celsius + 273.15, "P", 101325, "Ethanol")
    assert density(1.0, celsius) == pytest.approx(reference, abs=0.25)


@pytest.mark.parametrize("celsius", [0.5, 20, 50, 71, 80, 99])
def test_vapour_pressure_agrees_with_iapws_95(celsius: float) -> None:
    reference = float(IAPWS95(T=celsius + 273.15, x=0).P) * 1000
    assert vapour_pressure_kpa(celsius) == pytest.approx(reference, rel=0.002)


def test_the_ends_of_the_boiling_table_agree_with_coolprop() -> None:
    ethanol = cp.PropsSI("T", "P", 101325, "Q", 0, "Ethanol") - 273.15
    assert boiling_point(1.0).value == pytest.approx(ethanol, abs=0.2)
    assert boiling_point(0.0).value == pytest.approx(float(IAPWS95(P=ATMOSPHERE, x=0).T) - 273.15, abs=0.05)


@pytest.mark.parametrize(("metres", "pascal"), [(0, 101325), (1524, 84307), (3048, 69682)])
def test_the_altitude_rule_agrees_with_the_standard_atmosphere(metres: float, pascal: float) -> None:
    """ISO 2533 pressures at 0, 5,000 and 10,000 ft; the cook's straight line is good to half a degree."""
    reference = cp.PropsSI("T", "P", pascal, "Q", 0, "Water") - 273.15
    assert boiling_point_at_altitude(metres) == pytest.approx(reference, abs=0.5)


def test_a_hot_volume_shrinks_as_iapws_water_does() -> None:
    expected = 1000 * iapws_water(80) / iapws_water(20)
    assert volume_at(1000, 0, 80, 20) == pytest.approx(expected, abs=0.05)

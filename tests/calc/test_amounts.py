"""What was typed as grams and as mL at 20 °C, against densities by OIML R 22 and a syrup's own."""

from __future__ import annotations

import pytest
from pytest import approx

from batches.calc.alcohol import millilitres, volume_at
from batches.calc.amounts import Liquid, from_mass, from_volume, measured
from batches.calc.composition import of_volume
from batches.calc.errors import OutOfRange
from batches.calc.result import Result
from workshop.calc.units import Quantity, parse_quantity

R22_40 = 948.05  # kg/m3 of 40 % vol at 20 °C, OIML R 22
USP_SYRUP = 1313.0  # kg/m3, USP 28


def typed(text: str, *units: str) -> Quantity:
    return parse_quantity(text, field="Amount", units=units or ("g", "mL", "°C"))


def test_a_volume_weighs_by_its_strength() -> None:
    assert from_volume(1000, 40).g == approx(R22_40, abs=0.01)
    assert from_volume(1000, 40).ml == 1000


def test_a_volume_read_warm_is_less_at_20() -> None:
    """400 mL of 92 % read at 27 °C are 397.03 mL at 20 °C (worked by OIML R 22)."""
    assert from_volume(400, 92, 27).ml == approx(397.03, abs=0.01)
    assert from_volume(400, 92, 27).ml == approx(volume_at(400, 92, 27, 20))
    assert measured(typed("400 mL"), 92, typed("27 °C")).ml == approx(397.03, abs=0.01)


def test_a_weight_is_a_volume_by_its_strength() -> None:
    assert from_mass(R22_40, 40).ml == approx(1000, abs=0.02)
    assert measured(typed("500 g"), 40) == Liquid(500.0, millilitres(500.0, 40))
    assert measured(typed("500 mL"), 40).ml == 500.0


def test_a_syrup_goes_by_its_own_density_as_read() -> None:
    assert from_volume(150, 0.0, 60, USP_SYRUP) == Liquid(approx(196.95), 150)  # type: ignore[arg-type]
    assert from_mass(196.95, 0.0, USP_SYRUP).ml == approx(150)
    assert measured(typed("150 mL"), None, None, USP_SYRUP).g == approx(196.95)
    assert measured(typed("196.95 g"), None, None, USP_SYRUP).ml == approx(150)


def test_an_unknown_liquid_is_taken_as_of_60_per_cent() -> None:
    """0.91 g/mL: 60 % vol is 0.90911 (OIML R 22)."""
    assert from_volume(100, None) == Liquid(approx(91.0), 100)  # type: ignore[arg-type]
    assert from_mass(91.0, None).ml == approx(100)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: from_volume(-1, None),
        lambda: from_volume(-1, 0, 20, 1000.0),
        lambda: from_mass(-1, 40),
        lambda: from_volume(-1, 40),
    ],
)
def test_less_than_nothing_is_refused(ask: object) -> None:
    with pytest.raises(OutOfRange):
        ask()  # type: ignore[operator]


def test_a_volume_of_spirit_is_made_of_what_it_weighs() -> None:
    made = of_volume(1000, 40)
    assert (made.g, made.abv) == (approx(R22_40, abs=0.01), approx(40))


def test_a_result_without_figures_says_so() -> None:
    with pytest.raises(NotImplementedError):
        Result().figures()

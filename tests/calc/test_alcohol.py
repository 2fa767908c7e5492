"""Density and strength: anchors, round trips, and what lies outside the formula."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.calc import alcohol as a
from batches.calc.errors import OutOfRange
from batches.calc.roots import find_root

fractions = st.floats(0.0, 1.0)
strengths = st.floats(0.0, 100.0)
warm = st.floats(0.0, 40.0)


@pytest.mark.parametrize(
    ("p", "celsius", "expected", "tolerance"),
    [
        (0.0, 20, 998.20123, 5e-6),
        (1.0, 20, 789.23912, 5e-6),
        (1.0, 0, 806.22, 0.005),
        (1.0, 40, 771.93, 0.005),
        (1.0, -20, 823.12, 0.005),
    ],
)
def test_the_anchors_of_oiml_r_22(p: float, celsius: float, expected: float, tolerance: float) -> None:
    assert a.density(p, celsius) == pytest.approx(expected, abs=tolerance)


def test_the_misprinted_coefficient_is_not_used() -> None:
    """Right C1,1 is 1.693443...; the misprint 1.693433... moves the first value by 3e-5 kg/m3.

    Values as five independent transcriptions of OIML R 22 give them.
    """
    assert a.density(0.73, 15.5) == pytest.approx(864.24863063, abs=5e-8)
    assert a.mass_fraction_from_density(901.42, 15.5) == pytest.approx(0.57099799, abs=5e-9)


@given(strengths)
def test_strength_to_mass_fraction_and_back(abv: float) -> None:
    assert a.abv_from_mass_fraction(a.mass_fraction_from_abv(abv)) == pytest.approx(abv, abs=1e-9)


@given(strengths)
def test_strength_at_60_f_and_back(abv: float) -> None:
    there = a.mass_fraction_from_abv(abv, a.SIXTY_F)
    assert a.abv_from_mass_fraction(there, a.SIXTY_F) == pytest.approx(abv, abs=1e-9)


@given(fractions, warm)
def test_density_to_mass_fraction_and_back(p: float, celsius: float) -> None:
    assert a.mass_fraction_from_density(a.density(p, celsius), celsius) == pytest.approx(p, abs=1e-9)


@pytest.mark.parametrize("celsius", [0.0, 15.5556, 20.0, 40.0])
@pytest.mark.parametrize("p", [0.0, 5e-324, 1e-17, 1.0 - 2**-53, 1.0])
def test_a_hair_from_either_end_is_inside(p: float, celsius: float) -> None:
    assert a.mass_fraction_from_density(a.density(p, celsius), celsius) == pytest.approx(p, abs=1e-12)
    assert a.mass_fraction_from_abv(a.abv_from_mass_fraction(p)) == pytest.approx(p, abs=1e-12)


@given(strengths)
def test_proof_and_back(abv: float) -> None:
    assert a.abv_from_proof(a.proof_from_abv(abv)) == pytest.approx(abv, abs=1e-9)


@given(st.floats(0.01, 1e6), strengths, warm, warm)
def test_a_volume_warmed_and_cooled_again(volume: float, abv: float, one: float, other: float) -> None:
    there = a.volume_at(volume, abv, one, other)
    assert a.volume_at(there, abv, other, one) == pytest.approx(volume, rel=1e-12)


@given(st.floats(0.01, 1e6), strengths)
def test_mass_and_volume_and_back(volume: float, abv: float) -> None:
    assert a.millilitres(a.grams(volume, abv), abv) == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize("celsius", range(-20, 41, 5))
def test_density_falls_with_every_thousandth_of_ethanol(celsius: int) -> None:
    least = 0.0 if celsius >= 0 else 0.34
    steps = [i / 1000 for i in range(1001) if i / 1000 >= least]
    found = [a.density(p, celsius) for p in steps]
    assert all(later < earlier for earlier, later in zip(found, found[1:], strict=False))


@given(strengths)
def test_a_reading_at_20_degrees_is_true(abv: float) -> None:
    assert a.true_abv(abv, 20) == pytest.approx(abv, abs=1e-9)


@given(st.floats(5.0, 90.0), st.floats(20.5, 35.0))
def test_warm_spirit_reads_too_strong(reading: float, celsius: float) -> None:
    assert a.true_abv(reading, celsius) < reading


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: a.density(1.5, 20), "A share of ethanol by mass lies between 0 and 1; 1.5 does not."),
        (lambda: a.density(math.nan, 20), "lies between 0 and 1; not a number does not."),
        (lambda: a.density(0.5, 41), "The density formula holds from -20 to 40 °C; 41 °C is outside."),
        (lambda: a.density(0.5, math.nan), "not a number °C is outside."),
        (lambda: a.density(0.0, -5), "At -5 °C a liquid this weak is frozen."),
        (lambda: a.density(0.1, -18), "At -18 °C a liquid this weak is frozen."),
        (lambda: a.mass_fraction_from_abv(100.1), "A strength lies between 0 and 100 % vol"),
        (lambda: a.mass_fraction_from_abv(-1), "A strength lies between 0 and 100 % vol; -1 % vol does not."),
        (lambda: a.mass_fraction_from_abv(50, 60), "The density formula holds from -20 to 40 °C"),
        (lambda: a.mass_fraction_from_density(1000, 20), "between 789.24 and 998.20 kg/m3; 1000 is outside."),
        (lambda: a.mass_fraction_from_density(700, 20), "700 is outside."),
        (lambda: a.mass_fraction_from_density(900, 50), "50 °C is outside."),
        (lambda: a.mass_fraction_from_density(998, -10), "frozen"),
        (lambda: a.true_abv(0, 25), "is outside."),
        (lambda: a.abv_from_proof(201), "US proof lies between 0 and 200; 201 does not."),
        (lambda: a.volume_at(-1, 40, 20, 25), "A volume must be 0 or more, not -1."),
        (lambda: a.volume_at(100, 40, 60, 20), "let it cool or weigh it."),
        (lambda: a.volume_at(100, -1, 60, 20), "let it cool or weigh it."),
        (lambda: a.volume_at(100, 0, 101, 20), "Water is liquid between 0 and 100 °C"),
        (lambda: a.flash_point(0.04), "Flash points are tabulated from 5 to 100 % by mass; 4 % is outside."),
        (lambda: a.boiling_point(1.1), "The table runs from 0 to 1; 1.1 is outside."),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)


def test_a_weak_liquid_just_above_its_freezing_point_is_allowed() -> None:
    """R 22 table II prints 36 % vol at -20 °C: 975.08 kg/m3."""
    assert a.density_from_abv(36, -20) == pytest.approx(975.08, abs=0.011)


def test_absolute_ethanol_flashes_like_96_percent() -> None:
    assert a.flash_point(1.0) == a.flash_point(0.96)
    assert a.flash_point(0.10).uncertainty > a.flash_point(0.50).uncertainty


def test_a_root_at_either_end_is_found() -> None:
    assert find_root(lambda x: x, 0.0, 1.0) == 0.0
    assert find_root(lambda x: x - 1.0, 0.0, 1.0) == 1.0
    assert find_root(lambda x: x - 0.5, 0.0, 1.0) == 0.5


@given(st.floats(-5.0, 5.0))
def test_a_steep_root_is_found(where: float) -> None:
    found = find_root(lambda x: math.copysign(abs(x - where) ** 0.2, x - where), -6.0, 7.0)
    assert found == pytest.approx(where, abs=1e-9)


def test_no_change_of_sign_is_refused() -> None:
    with pytest.raises(OutOfRange, match="There is no answer inside the range"):
        find_root(lambda x: x * x + 1.0, 0.0, 1.0)

"""The pot: rate, forecast, start water, ethanol left, and first guesses before the first readings."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.decoction import (
    Reading,
    TopUp,
    ethanol_left,
    evaporation_rate,
    pot_area_cm2,
    pot_ml,
    start_water,
    time_to_target,
    water_lost_ml,
)
from batches.calc.errors import OutOfRange
from batches.calc.heat import boiling_rate_ml_h, simmering_rate_ml_h, vapour_pressure_kpa
from batches.calc.points import boiling_point_at_altitude, mole_fraction

BOIL = [Reading(h, pot_ml(24, depth)) for h, depth in ((0, 12.0), (0.5, 11.1), (1.0, 10.3), (1.5, 9.4))]


def test_a_boil_in_a_24_cm_pot() -> None:
    """Readings 12.0, 11.1, 10.3, 9.4 cm at half hours: slope 1.720 cm/h, 778 mL/h, 4,252 mL left."""
    rate = evaporation_rate(BOIL)
    assert pot_area_cm2(24) == approx(452.4, abs=0.05)
    assert rate.ml_per_h / pot_area_cm2(24) == approx(1.720, abs=0.0005)
    assert rate.ml_per_h == approx(778, abs=0.5)
    found = time_to_target(now_ml=BOIL[-1].ml, target_ml=2000, rate_ml_h=rate.ml_per_h)
    assert found.now_ml == approx(4252, abs=0.6)
    assert found.hours == approx(2.89, abs=0.006)


def test_18_mm_an_hour_in_a_24_cm_pot() -> None:
    assert pot_ml(24, 1.8) == approx(814, abs=0.5)


@given(
    st.floats(50, 1000),
    st.lists(st.tuples(st.integers(2, 5), st.floats(100, 2000)), min_size=1, max_size=4),
)
def test_top_ups_do_not_disturb_the_rate(rate: float, stretches: list[tuple[int, float]]) -> None:
    """A pot that loses exactly `rate` is found to do so, whatever was added between the readings."""
    events: list[Reading | TopUp] = []
    hours, ml, poured = 0.0, 20_000.0, 0.0
    for readings, added in stretches:
        for _ in range(readings):
            events.append(Reading(hours, ml))
            hours, ml = hours + 0.5, ml - rate * 0.5
        events.append(TopUp(hours, added))
        ml, poured = ml + added, poured + added
    found = evaporation_rate(events)
    assert found.ml_per_h == approx(rate, rel=1e-9)
    assert found.stretches == len(stretches)
    lost = water_lost_ml(
        start_ml=20_000, top_ups_ml=[e.ml for e in events if isinstance(e, TopUp)], end_ml=ml
    )
    assert lost == approx(rate * hours, rel=1e-9)


def test_the_standard_error_is_that_of_a_straight_line() -> None:
    """Against numpy's polyfit covariance, one stretch."""
    import numpy as np

    hours, levels = np.array([r.hours for r in BOIL]), np.array([r.ml for r in BOIL])
    slope, covariance = np.polyfit(hours, levels, 1, cov=True)
    found = evaporation_rate(BOIL)
    assert found.ml_per_h == approx(-slope[0])
    assert found.standard_error == approx(float(np.sqrt(covariance[0, 0])), rel=1e-9)


def test_two_readings_have_no_spread_to_tell() -> None:
    found = evaporation_rate(BOIL[:2])
    assert found.standard_error is None
    assert found.figures()["ml_per_h"].low is None


def test_the_next_look_is_half_way_and_never_more_than_half_an_hour_off() -> None:
    assert time_to_target(now_ml=3000, target_ml=1500, rate_ml_h=300).next_reading_min == 30
    assert time_to_target(now_ml=1600, target_ml=1500, rate_ml_h=300).next_reading_min == approx(10)
    assert time_to_target(now_ml=1400, target_ml=1500, rate_ml_h=300).hours == 0


def test_three_litres_to_one_and_a_half_at_80_degrees() -> None:
    """The first guess for a 24 cm pot says about 4.8 h, four and more is common practice, no source."""
    rate = simmering_rate_ml_h(celsius=80, diameter_cm=24)
    assert time_to_target(now_ml=3000, target_ml=1500, rate_ml_h=rate).hours == approx(4.8, abs=0.1)


@pytest.mark.parametrize(("celsius", "kg_m2_h"), [(71, 4.7), (75, 5.6), (80, 6.9), (82, 7.6)])
def test_a_simmering_pot_by_the_pool_formula(celsius: float, kg_m2_h: float) -> None:
    rate = simmering_rate_ml_h(celsius=celsius, diameter_cm=24)
    assert rate / 1000 / (pot_area_cm2(24) / 1e4) == approx(kg_m2_h, abs=0.08)


def test_a_gas_burner_of_one_and_a_half_kilowatts() -> None:
    """Heat of vaporisation 2257 kJ/kg at 100 °C: 1.196 kg an hour at half efficiency."""
    assert boiling_rate_ml_h(kilowatts=1.5, efficiency=0.5) == approx(1196, abs=0.5)


def test_5000_feet_up_water_boils_at_95_degrees() -> None:
    """203.0 F, as printed altitude tables have it."""
    assert boiling_point_at_altitude(1524) * 1.8 + 32 == approx(203.0, abs=0.05)


def test_start_water_is_the_sum_it_says() -> None:
    found = start_water(target_ml=1407, dry_g=163.8, spent_retention=1, rate_ml_h=250, hours=4, marc_ml=155)
    assert found.start_ml == approx(1407 + 163.8 + 1000 - 155)
    left = found.start_ml + found.marc_ml - found.evaporated_ml - found.held_ml
    assert left == approx(found.target_ml)


@pytest.mark.parametrize(("boiled_off", "left"), [(0.1, 35), (0.2, 11), (0.5, 0.1)])
def test_ethanol_goes_first(boiled_off: float, left: float) -> None:
    """(V / V0) ** 10: a tenth boiled off leaves 35 %, a fifth 11 %, half 0.1 %."""
    found = ethanol_left(
        ethanol_ml=100, start_ml=3000, evaporated_ml=3000 * boiled_off, hours=1, topped_up=False
    )
    assert found.physics_ml == approx(left, abs=0.5 if left > 1 else 0.05)


def test_ethanol_left_with_top_ups() -> None:
    """1.2 L off a 3.2 L pot kept full leaves 2.4 %."""
    found = ethanol_left(ethanol_ml=100, start_ml=3200, evaporated_ml=1200, hours=2, topped_up=True)
    assert found.physics_ml == approx(2.4, abs=0.06)
    assert found.floor_ml == 0
    assert found.high_ml == max(found.kitchen_ml, found.physics_ml)


@pytest.mark.parametrize(
    ("hours", "percent"), [(0, 100), (0.25, 40), (0.5, 35), (1, 25), (1.5, 20), (2, 10), (2.5, 5), (9, 5)]
)
def test_the_kitchen_table_of_ethanol_left(hours: float, percent: float) -> None:
    """USDA Table of Nutrient Retention Factors; past its end its last value holds, never zero."""
    found = ethanol_left(ethanol_ml=100, start_ml=3000, evaporated_ml=0, hours=hours, topped_up=True)
    assert found.kitchen_ml == approx(percent)


def test_mole_fraction_of_the_azeotrope() -> None:
    """95.6 % by mass is 0.894 by mole (Perry's last row below pure ethanol)."""
    assert mole_fraction(0.956) == approx(0.894, abs=0.002)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: evaporation_rate([]),
            "Two readings at different times, with no top-up between them, are needed.",
        ),
        (lambda: evaporation_rate([Reading(0, 9), TopUp(1, 1), Reading(1, 8)]), "Two readings"),
        (lambda: evaporation_rate([Reading(1, 9), Reading(1, 8)]), "Two readings at different times"),
        (
            lambda: time_to_target(now_ml=100, target_ml=50, rate_ml_h=0),
            "The rate of water lost must be more than 0",
        ),
        (
            lambda: start_water(target_ml=10, dry_g=10, spent_retention=1, rate_ml_h=0, hours=0, marc_ml=50),
            "The wet marc alone brings more liquid than is wanted",
        ),
        (
            lambda: start_water(target_ml=10, dry_g=10, spent_retention=1, rate_ml_h=0, hours=-1),
            "The time on the heat must be 0 or more, not -1.",
        ),
        (
            lambda: ethanol_left(ethanol_ml=1, start_ml=10, evaporated_ml=11, hours=1, topped_up=False),
            "More cannot boil off than was in the pot, unless it was topped up.",
        ),
        (
            lambda: boiling_rate_ml_h(kilowatts=1, efficiency=50),
            "The efficiency must lie between 0 and 1, not 50.",
        ),
        (lambda: vapour_pressure_kpa(120), "Water is liquid between 0 and 100 °C"),
        (lambda: boiling_point_at_altitude(9000), "The altitude rule holds from 0 to 4,000 m"),
        (lambda: mole_fraction(2), "A share by mass lies between 0 and 1; 2 does not."),
        (lambda: pot_ml(0, 10), "The pot's diameter must be more than 0, not 0."),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

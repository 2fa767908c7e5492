"""Plans of what is not spirit, against the pharmacopoeia, old books and worked values of the trade."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.calc.errors import OutOfRange
from batches.calc.plan_simple import (
    Pour,
    Retention,
    SimpleTerms,
    Sweet,
    plan_simple,
    plan_simple_backward,
)

ONE = Retention(1.0, 0.8, 1.5)
WATER = Pour("water", "Water", 20.0, 0.9982)
TEA = SimpleTerms(pours=(WATER,), moisture=0.1, retention=ONE, fill_ml=100.0)


def test_the_old_official_infusion() -> None:
    """50 g in 1000 mL of water; the herb takes about 1 mL a gram of it (water rule of decoction teaching)."""
    plan = plan_simple(herb_g=50, terms=replace(TEA, moisture=0.0))
    assert plan.menstruum_ml == pytest.approx(1000)
    assert plan.pressed_ml == pytest.approx(950)


def test_the_decoction_of_20_g_in_750_ml_reduced_to_500() -> None:
    """20 g to 750 mL, reduced to 500 mL: herbal teaching; the rate is that of a simmering pot of 24 cm."""
    pour = replace(WATER, ml_per_g=37.5)
    plan = plan_simple(
        herb_g=20, terms=replace(TEA, pours=(pour,), boil_to=2 / 3, rate_ml_h=250.0, moisture=0.0)
    )
    assert plan.base_ml == pytest.approx(500)
    assert plan.boiled_off_ml == pytest.approx(230)
    assert plan.boil_hours == pytest.approx(0.92)


def test_a_boil_of_778_ml_an_hour_takes_2_89_h_from_4252_to_2000_ml() -> None:
    """Least squares on level readings of a 24 cm pot: 778 mL/h; 4252 mL to 2000 mL (worked value)."""
    terms = replace(
        TEA, pours=(replace(WATER, ml_per_g=43.52),), moisture=0.0, boil_to=2000 / 4352, rate_ml_h=778.0
    )
    plan = plan_simple(herb_g=100, terms=terms)
    assert plan.pressed_ml == pytest.approx(4252)
    assert plan.boil_hours == pytest.approx(2.89, abs=0.01)


def test_usp_syrup_makes_its_volume() -> None:
    """USP Syrup: 850 g of sucrose in 1000 mL, density 1.313: 150 mL hold 127.5 g and 69.45 g of water."""
    water_ml = 69.45 / 0.99820
    terms = replace(
        TEA,
        pours=(replace(WATER, ml_per_g=water_ml),),
        moisture=0.0,
        retention=Retention(0, 0, 0),
        sweet=Sweet("Sugar", 127.5, 0.6306),
    )
    plan = plan_simple(herb_g=1, terms=terms)
    assert plan.sweet_g == 127.5
    assert plan.final_ml == pytest.approx(150, abs=0.1)


def test_an_oil_keeps_the_water_of_its_herb_out() -> None:
    oil = Pour("menstruum", "Oil", 5.0, 0.92)
    plan = plan_simple(herb_g=100, terms=replace(TEA, pours=(oil,), water_joins=False))
    assert (plan.jar_ml, plan.menstruum_g) == (500.0, pytest.approx(460))


def test_an_extract_is_kept_by_spirit_to_its_strength() -> None:
    """1000 mL of 25 % vol from water and 96 % vol: 28.37 % vol parts by mass (OIML R 22), so 258 mL."""
    plan = plan_simple(herb_g=50, terms=replace(TEA, moisture=0.0, keep_abv=25.0))
    assert plan.fortified is not None
    assert plan.final_ml * 0.25 == pytest.approx(plan.fortified.spirit_ml * 0.96)
    assert plan.final_ml < plan.base_ml + plan.fortified.spirit_ml


def test_it_is_not_boiled_up() -> None:
    with pytest.raises(OutOfRange, match="cannot be boiled down to 950 mL"):
        plan_simple(
            herb_g=50, terms=replace(TEA, boil_to=0.95, rate_ml_h=250.0, retention=Retention(2, 2, 2))
        )
    with pytest.raises(OutOfRange, match="The water lost in an hour"):
        plan_simple(herb_g=50, terms=replace(TEA, boil_to=0.5))


def test_a_herb_that_drinks_everything_makes_nothing() -> None:
    with pytest.raises(OutOfRange, match="nothing would come off"):
        plan_simple(herb_g=50, terms=replace(TEA, pours=(replace(WATER, ml_per_g=0.5),)))


def test_no_bottles_are_refused() -> None:
    with pytest.raises(OutOfRange, match="One bottle or more"):
        plan_simple_backward(bottles=0, terms=TEA)


@given(
    bottles=st.integers(1, 500),
    ratio=st.floats(2.0, 60.0),
    moisture=st.floats(0.0, 0.9),
    sweet=st.floats(0.0, 20.0),
    lost=st.floats(0.0, 0.3),
)
def test_backwards_is_forwards(
    bottles: int, ratio: float, moisture: float, sweet: float, lost: float
) -> None:
    terms = replace(
        TEA,
        pours=(replace(WATER, ml_per_g=ratio),),
        moisture=moisture,
        sweet=Sweet("Honey", sweet, 1 / 1.42),
        settle_loss=lost,
        bottling_loss=lost,
    )
    plan = plan_simple_backward(bottles=bottles, terms=terms)
    assert plan.bottles == bottles
    assert plan.left_over_ml == pytest.approx(0.0, abs=1e-6)

"""What liquids are made of, against published compositions and the alcohol tables."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import density_from_abv, grams, millilitres
from batches.calc.composition import (
    CONSTITUENTS,
    Composition,
    of_glycerol,
    of_honey,
    of_kind,
    of_spirit,
    of_vinegar,
)
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend, with_plant_water

mass = st.floats(0.1, 5000.0)
made = st.dictionaries(st.sampled_from(CONSTITUENTS), mass, min_size=1)


def test_usp_syrup() -> None:
    """150 mL of Syrup USP: 127.5 g of sucrose and 69.45 g of water, SG 1.313, 64.7 % w/w (USP 28)."""
    syrup = Composition.of(sugar=127.5, water=69.45)
    assert syrup.ml == approx(150.0, abs=0.1)
    assert syrup.density / 998.2 == approx(1.313, abs=0.003)
    assert 100 * syrup.share("sugar") == approx(64.7, abs=0.05)


def test_glycerol_on_fresh_herb() -> None:
    """200 mL of glycerol on 100 g of fresh herb at 85 %: 70.2 % v/v, 74.8 % w/w (by mass, volumes added)."""
    jar = Composition.of(glycerol=200 * 1.261) + Composition.of(water=85.0)
    assert jar.glycerol_vv == approx(70.2, abs=0.1)
    assert 100 * jar.share("glycerol") == approx(74.8, abs=0.1)


def test_three_parts_glycerol_on_dried_herb() -> None:
    """75:25 by volume, 500 mL on 100 g of herb at 10 %: 73.5 % v/v, 77.8 % w/w (volumes added)."""
    jar = Composition.of(glycerol=375 * 1.261, water=125 * 0.9982) + Composition.of(water=10.0)
    assert jar.glycerol_vv == approx(73.5, abs=0.1)
    assert 100 * jar.share("glycerol") == approx(77.8, abs=0.1)


def test_vinegar_on_fresh_herb_falls_below_four() -> None:
    """300 mL of 5 % vinegar on 100 g of fresh herb at 85 %: 3.90 % (worked by volumes: 15 g in 385 mL)."""
    vinegar = of_vinegar(1.0, 5.0)
    jar = vinegar.part(300 * vinegar.density / 1000) + Composition.of(water=85.0)
    assert vinegar.acid_percent == approx(5.0, abs=1e-9)
    assert jar.acid_percent == approx(3.90, abs=0.01)


def test_half_honey_half_decoction_is_mostly_water() -> None:
    """500 mL of decoction and 500 g of honey hold about 59 % of water (common practice, worked by mass)."""
    mixed = Composition.of(water=499.1) + of_honey(500.0)
    assert 100 * mixed.share("water") == approx(59.0, abs=0.2)


@pytest.mark.parametrize("abv", [0.0, 12.5, 40.0, 60.0, 96.0, 100.0])
def test_spirit_is_what_the_alcohol_tables_say(abv: float) -> None:
    """Water and ethanol alone: volume, density and strength by OIML R 22, to the last digit that matters."""
    made = of_spirit(grams(700.0, abv), abv)
    assert made.is_plain
    assert made.ml == approx(700.0, rel=1e-9)
    assert made.density == approx(density_from_abv(abv), rel=1e-9)
    assert made.abv == approx(abv, abs=1e-9)


def test_mixing_spirits_is_blending_them() -> None:
    """The same as `blend`, which is checked against the tables of R 22."""
    mixed = of_spirit(grams(300, 60), 60) + of_spirit(grams(420, 0), 0)
    other = blend([(300, 60), (420, 0)])
    assert (mixed.ml, mixed.abv) == (approx(other.ml), approx(other.abv))


def test_herb_water_in_spirit_is_the_jar() -> None:
    """125 g at 75 % moisture in 250 mL of 95 %: 335.6 mL at 70.8 % (worked by R 22)."""
    jar = of_spirit(grams(250, 95), 95) + Composition.of(water=125 * 0.75)
    known = with_plant_water(250, 95, 125, 0.75)
    assert (jar.ml, jar.abv) == (approx(known.ml), approx(known.abv))
    assert jar.abv == approx(70.8, abs=0.05)


@given(made, made)
def test_nothing_is_lost_in_mixing(one: dict[str, float], other: dict[str, float]) -> None:
    a, b = Composition(one), Composition(other)
    assert (a + b).g == approx(a.g + b.g)
    assert (a + b).shares() == approx((b + a).shares())
    assert sum((a + b).shares().values()) == approx(1.0)
    assert 0 <= (a + b).abv <= 100 + 1e-9


@given(made, st.floats(0.01, 100.0))
def test_a_part_is_made_as_the_whole(one: dict[str, float], grams: float) -> None:
    whole = Composition(one)
    part = whole.part(grams)
    assert part.g == approx(grams)
    assert part.density == approx(whole.density)
    assert (part.abv, part.acid_percent, part.glycerol_vv) == approx(
        (whole.abv, whole.acid_percent, whole.glycerol_vv)
    )


@given(st.floats(0.0, 100.0), mass)
def test_a_spirits_volume_is_its_weights(abv: float, weight: float) -> None:
    assert of_spirit(weight, abv).ml == approx(millilitres(weight, abv), rel=1e-9)


def test_kinds_of_goods() -> None:
    assert of_kind("spirit", 100) is None
    assert of_kind("herb", 100) is None
    spirit = of_kind("spirit", grams(100, 40), abv=40)
    assert spirit is not None and spirit.abv == approx(40)
    said: dict[str, Any] = {
        kind: of_kind(kind, 100.0) for kind in ("water", "glycerol", "honey", "sugar", "oil")
    }
    assert said["water"].shares() == {"water": 1.0}
    assert said["glycerol"].shares() == approx({"glycerol": 0.995, "water": 0.005})
    assert said["honey"].shares() == approx({"sugar": 0.82, "water": 0.18})
    assert said["sugar"].shares() == {"sugar": 1.0} and said["oil"].shares() == {"oil": 1.0}
    vinegar = of_kind("vinegar", 100.0)
    assert vinegar is not None and vinegar.acid_percent == approx(5.0) and vinegar.g == approx(100.0)


def test_an_empty_liquid_has_no_density() -> None:
    nothing = Composition()
    assert (nothing.g, nothing.ml, nothing.abv, nothing.share("water")) == (0, 0, 0, 0)
    assert (nothing.acid_percent, nothing.glycerol_vv, nothing.shares()) == (0, 0, {})
    assert nothing.is_plain and Composition.of(water=5, oil=0.0).is_plain
    for ask in (lambda: nothing.density, lambda: nothing.part(1.0)):
        with pytest.raises(OutOfRange):
            ask()


def test_a_measured_strength_goes_into_the_same_volume() -> None:
    """Half glycerol, half of 40 % vol, measured at 15 % vol: mass is kept, ethanol is 15 % of the volume."""
    made = Composition.of(glycerol=500.0) + of_spirit(500.0, 40.0)
    found = made.with_abv(15.0)
    assert found.g == approx(made.g)
    assert found.of_which("ethanol") == approx(0.15 * made.ml * 0.78924, rel=1e-4)
    assert found.of_which("glycerol") == 500.0
    with pytest.raises(OutOfRange):
        Composition.of(oil=90.0, water=1.0).with_abv(50.0)


def test_vinegar_weighs_what_the_tables_say() -> None:
    """5 % w/w acetic acid weighs 1.0055 g/mL at 20 °C (CRC Handbook, from memory)."""
    assert Composition.of(acid=5.0, water=95.0).density == approx(1005.5, abs=0.2)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: Composition.of(gold=1.0),
        lambda: Composition.of(water=-1.0),
        lambda: Composition.of(water=1.0).scaled(-1.0),
        lambda: of_honey(1.0, 1.2),
        lambda: of_glycerol(1.0, -0.1),
        lambda: of_vinegar(1.0, 31.0),
        lambda: of_vinegar(1.0, -1.0),
        lambda: of_spirit(-1.0, 40.0),
    ],
)
def test_it_refuses_what_no_liquid_is(ask: Any) -> None:
    with pytest.raises(OutOfRange):
        ask()

"""Mixing: what must hold whatever the amounts, and the usual worked values of the trade.

The worked values (500 mL of 95 % and 500 mL of water and the like) were reckoned by mass from OIML R 22
densities apart from this code; where they are printed tables, test_alcohol_cases.py has them.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import ethanol_g, grams
from batches.calc.combine import landing, top_up
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend, dilute, fortify, make_up, pure_ml, to_target, with_plant_water
from batches.calc.ways_out import fortify_all, reduce_further, use_part, ways_out
from batches.calc.weighing import by_scale, from_scale

volumes = st.floats(1.0, 1e5)
strengths = st.floats(0.0, 100.0)
parts = st.lists(st.tuples(volumes, strengths), min_size=1, max_size=6)


@given(parts)
def test_a_blend_keeps_mass_and_ethanol(liquids: list[tuple[float, float]]) -> None:
    made = blend(liquids)
    assert made.g == approx(sum(grams(*x) for x in liquids), rel=1e-9)
    assert grams(made.ml, made.abv) == approx(made.g, rel=1e-9)
    assert ethanol_g(made.ml, made.abv) == approx(sum(ethanol_g(*x) for x in liquids), rel=1e-9, abs=1e-9)


@given(volumes, strengths)
def test_a_blend_of_one_is_itself(ml: float, abv: float) -> None:
    made = blend([(ml, abv)])
    assert (made.ml, made.abv) == (approx(ml, rel=1e-9), approx(abv, abs=1e-9))
    assert made.contraction_ml == approx(0.0, abs=1e-9 * ml)


@given(parts)
def test_the_order_of_pouring_does_not_matter(liquids: list[tuple[float, float]]) -> None:
    one, other = blend(liquids), blend(liquids[::-1])
    assert (one.ml, one.abv) == (approx(other.ml, rel=1e-9), approx(other.abv, abs=1e-9))


@given(volumes, st.floats(1.0, 100.0), st.floats(0.01, 1.0))
def test_dilute_and_blend_agree(ml: float, abv: float, part: float) -> None:
    target = abv * part
    made = dilute(ml, abv, target)
    again = blend([(ml, abv), (made.water_ml, 0.0)])
    assert (again.ml, again.abv) == (approx(made.final_ml, rel=1e-9), approx(target, abs=1e-8))
    assert again.contraction_ml == approx(made.contraction_ml, abs=1e-8 * made.final_ml)
    assert made.final_ml == approx(ml * abv / target, rel=1e-9), "ethanol is kept, so the end volume is exact"


@given(volumes, st.floats(30.0, 100.0), st.floats(15.0, 29.0), st.floats(0.0, 10.0))
def test_letting_down_with_an_extract_agrees_with_blend(
    ml: float, abv: float, target: float, extract_abv: float
) -> None:
    made = to_target(ml, abv, target, extract_abv)
    again = blend([(ml, abv), (made.water_ml, extract_abv)])
    assert (again.ml, again.abv) == (approx(made.final_ml, rel=1e-9), approx(target, abs=1e-8))


@given(volumes, st.floats(5.0, 50.0), st.floats(0.5, 40.0))
def test_fortify_and_blend_agree(ml: float, abv: float, more: float) -> None:
    target = abv + more
    made = fortify(ml, abv, target, 96)
    again = blend([(ml, abv), (made.spirit_ml, 96.0)])
    assert (again.ml, again.abv) == (approx(made.final_ml, rel=1e-9), approx(target, abs=1e-8))


@given(volumes, st.floats(1.0, 96.0))
def test_make_up_and_blend_agree(ml: float, target: float) -> None:
    made = make_up(ml, target, 96)
    again = blend([(made.spirit_ml, 96.0), (made.water_ml, 0.0)])
    assert (again.ml, again.abv) == (approx(ml, rel=1e-9), approx(target, abs=1e-8))
    assert made.spirit_g + made.water_g == approx(made.final_g, rel=1e-12)


@pytest.mark.parametrize("ml", [1.0, 3.3, 7.0, 900.0, 12345.6])
@pytest.mark.parametrize("abv", [95.99999999999999, 96.0])
def test_a_target_at_the_spirits_own_strength_takes_no_water(ml: float, abv: float) -> None:
    made = make_up(ml, abv, 96)
    assert 0.0 <= made.water_ml < 1e-9 * ml
    assert 0.0 <= dilute(ml, 96, abv).water_ml < 1e-9 * ml
    assert 0.0 <= fortify(ml, abv, abv, 97).spirit_ml < 1e-9 * ml


@given(volumes, st.floats(20.0, 96.0), st.floats(1.0, 1e4), st.floats(0.0, 0.9))
def test_plant_water_acts_like_water(ml: float, abv: float, herb_g: float, moisture: float) -> None:
    water_ml = herb_g * moisture / 0.99820123
    jar, again = with_plant_water(ml, abv, herb_g, moisture), blend([(ml, abv), (water_ml, 0.0)])
    assert (jar.ml, jar.abv) == (approx(again.ml, rel=1e-9), approx(again.abv, abs=1e-8))


@given(volumes, st.floats(40.0, 96.0), st.floats(10.0, 38.0), st.floats(0.1, 1.0))
def test_a_weaker_target_takes_more_water(ml: float, abv: float, target: float, less: float) -> None:
    assert dilute(ml, abv, target - less).water_ml > dilute(ml, abv, target).water_ml


@given(volumes, st.floats(20.0, 96.0), st.floats(10.0, 1e4), st.floats(0.0, 0.8))
def test_a_wetter_herb_makes_a_weaker_jar(ml: float, abv: float, herb_g: float, moisture: float) -> None:
    assert (
        with_plant_water(ml, abv, herb_g, moisture + 0.1).abv
        < with_plant_water(ml, abv, herb_g, moisture).abv
    )


def test_contraction_is_largest_near_half_and_half() -> None:
    """3.5 to 3.6 % near 52 to 53 volumes of ethanol, as the handbooks have it."""
    shrunk = {v: blend([(v, 100.0), (100.0 - v, 0.0)]).contraction_ml for v in range(1, 100)}
    assert max(shrunk, key=lambda v: shrunk[v]) in (52, 53)
    assert max(shrunk.values()) == approx(3.55, abs=0.02)


@pytest.mark.parametrize(
    ("liquids", "ml", "abv"),
    [
        ([(50, 100), (50, 0)], 96.46, 51.83),
        ([(500, 95), (500, 0)], 970.6, 48.94),
        ([(600, 95), (400, 0)], 971.5, 58.67),
        ([(300, 95), (700, 0)], 978.1, 29.14),
        ([(300, 60), (420, 0)], 714.9, 25.18),
    ],
)
def test_blends_worked_by_mass(liquids: list[tuple[float, float]], ml: float, abv: float) -> None:
    made = blend(liquids)
    assert (made.ml, made.abv) == (approx(ml, abs=0.06), approx(abv, abs=0.006))


@pytest.mark.parametrize(
    ("ml", "abv", "target", "water", "naive", "final"),
    [
        (1000, 95, 60, 629.2, 583.3, 1583.3),
        (1000, 96, 40, 1470.5, 1400, 2400),
        (1000, 95, 50, 957.6, 900, 1900),
        (380, 58, 30, 360.4, 354.7, 734.7),
    ],
)
def test_dilutions_worked_by_mass(
    ml: float, abv: float, target: float, water: float, naive: float, final: float
) -> None:
    made = dilute(ml, abv, target)
    assert made.water_ml == approx(water, abs=0.06)
    assert made.rule_of_thumb_ml == approx(naive, abs=0.06)
    assert made.final_ml == approx(final, abs=0.06)


@pytest.mark.parametrize(
    ("moisture", "abv", "ml"),
    [
        (0.60, 74.68, 254.4),
        (0.70, 72.02, 263.8),
        (0.80, 69.54, 273.2),
        (0.85, 68.36, 278.0),
        (0.90, 67.21, 282.7),
    ],
)
def test_fresh_herb_in_95_percent_worked_by_mass(moisture: float, abv: float, ml: float) -> None:
    jar = with_plant_water(200, 95, 100, moisture)
    assert (jar.abv, jar.ml) == (approx(abv, abs=0.006), approx(ml, abs=0.06))


@pytest.mark.parametrize(
    ("ml", "menstruum", "moisture", "abv"),
    [
        (200, 40, 0.7, 29.7),
        (200, 40, 0.8, 28.6),
        (200, 40, 0.9, 27.6),
        (100, 40, 0.8, 22.2),
        (100, 40, 0.9, 21.1),
        (500, 60, 0.1, 58.87),
        (500, 40, 0.1, 39.23),
    ],
)
def test_herb_in_weaker_spirit_worked_by_mass(
    ml: float, menstruum: float, moisture: float, abv: float
) -> None:
    tolerance = 0.06 if round(abv, 1) == abv else 0.006
    assert with_plant_water(ml, menstruum, 100, moisture).abv == approx(abv, abs=tolerance)


def test_equal_parts_of_vodka_and_decoction() -> None:
    """Common practice ends at 20 % vol by adding volumes; by mass it is a little more."""
    assert blend([(500, 40), (500, 0)]).abv == approx(20.0, abs=0.35)
    assert blend([(300, 40), (700, 0)]).abv == approx(12.0, abs=0.1)
    assert blend([(300, 95), (700, 0)]).abv == approx(29.1, abs=0.05)


@given(volumes, st.floats(40.0, 90.0), st.floats(20.0, 35.0), st.floats(0.2, 3.0))
def test_every_way_out_lands_on_the_target(ml: float, abv: float, target: float, times: float) -> None:
    needed = dilute(ml, abv, target).water_ml
    assume(abs(times - 1.0) > 1e-6)
    found = ways_out(tincture_ml=ml, abv=abv, extract_ml=needed * times, target=target, spirit_abv=96)
    assert found.use_part is not None
    part = blend([(found.use_part.tincture_ml, abv), (found.use_part.extract_ml, 0.0)])
    assert (part.abv, part.ml) == (approx(target, abs=1e-8), approx(found.use_part.final_ml, rel=1e-9))
    if times > 1.0:
        assert found.reduce_further is not None and found.fortify is not None and found.water_ml is None
        assert found.reduce_further.boil_off_ml == approx(needed * (times - 1.0), rel=1e-6)
        everything = blend([(ml, abv), (needed * times, 0.0), (found.fortify.spirit_ml, 96.0)])
        assert everything.abv == approx(target, abs=1e-8)
        assert everything.ml == approx(found.fortify.final_ml, rel=1e-9)
        assert found.landing.floor_abv < target
    else:
        assert found.reduce_further is None and found.fortify is None
        assert found.water_ml == approx(needed * (1.0 - times), rel=1e-6)
        assert found.landing.floor_abv > target


def test_no_extract_at_all_leaves_water_as_the_way_out() -> None:
    found = ways_out(tincture_ml=760, abv=78.69, extract_ml=0, target=28, spirit_abv=96)
    assert found.use_part is None
    assert found.water_ml == approx(1407.0, abs=0.2)


def test_topping_up_a_jar() -> None:
    """100 mL of 80 % over 914.99 mL of 78.69 %: the ethanol of both in a little less than their sum."""
    made = top_up(jar_ml=914.99, jar_abv=78.69, added_ml=100, added_abv=80)
    assert made.abv == approx((914.99 * 78.69 + 8000) / made.ml, rel=1e-9)
    assert 78.69 < made.abv < 80


@given(volumes, strengths, st.floats(0.0, 2000.0))
def test_by_the_scale_and_back(ml: float, abv: float, tare: float) -> None:
    shown = by_scale(volume_ml=ml, abv=abv, tare_g=tare)
    assert from_scale(shown_g=shown, abv=abv, tare_g=tare) == approx(ml, rel=1e-6)


def test_pure_ethanol_from_grams() -> None:
    assert pure_ml(789.23912) == approx(1000, rel=1e-8)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: dilute(400, 35, 92),
            "92 % vol is above the 35 % vol at hand: adding water cannot raise it.",
        ),
        (lambda: dilute(400, 92, 0), "0 % vol cannot be reached by adding something of 0 % vol."),
        (lambda: dilute(0, 92, 35), "The volume at hand must be more than 0, not 0."),
        (lambda: dilute(float("nan"), 92, 35), "not not a number."),
        (lambda: dilute(float("inf"), 92, 35), "The volume at hand must be more than 0"),
        (lambda: dilute(400, 192, 35), "A strength lies between 0 and 100 % vol; 192 % vol does not."),
        (lambda: to_target(400, 60, 20, 25), "20 % vol cannot be reached by adding something of 25 % vol."),
        (lambda: blend([]), "There is nothing to blend."),
        (lambda: blend([(0, 40)]), "The volume of the blend must be more than 0, not 0."),
        (lambda: blend([(10, 40), (-1, 0)]), "A volume in a blend must be 0 or more, not -1."),
        (lambda: make_up(900, 97, 96), "97 % vol cannot be made from a spirit of 96 % vol."),
        (lambda: make_up(900, 0, 0), "0 % vol cannot be made from a spirit of 0 % vol."),
        (lambda: make_up(0, 40, 96), "The volume wanted must be more than 0"),
        (lambda: with_plant_water(0, 80, 100, 0.1), "The menstruum must be more than 0, not 0."),
        (lambda: with_plant_water(900, 80, -1, 0.1), "The herb must be 0 or more, not -1."),
        (lambda: with_plant_water(900, 80, 180, 9), "The moisture must lie between 0 and 1, not 9."),
        (lambda: fortify(100, 30, 20, 96), "20 % vol is below the 30 % vol at hand: dilute it instead."),
        (lambda: fortify(100, 30, 96, 96), "A spirit of 96 % vol cannot raise it to 96 % vol."),
        (
            lambda: reduce_further(tincture_ml=760, abv=78.69, extract_ml=1200, target=28),
            "1,200 mL of water extract is not too much: 1,407 mL fits.",
        ),
        (
            lambda: use_part(tincture_ml=760, abv=28, extract_ml=100, target=28),
            "The tincture is at the strength wanted already: no extract goes in.",
        ),
        (
            lambda: fortify_all(tincture_ml=760, abv=78.69, extract_ml=1200, target=28, spirit_abv=96),
            "Together they already make 31 % vol: no spirit is needed.",
        ),
        (
            lambda: landing(tincture_ml=760, abv=60, extract_ml=10, marc_ethanol_ml=122),
            "More ethanol cannot be left in the extract than the extract has room for.",
        ),
        (
            lambda: landing(tincture_ml=760, abv=60, extract_ml=10, shares=(2.0,)),
            "The share of ethanol left must lie between 0 and 1, not 2.",
        ),
        (
            lambda: from_scale(shown_g=400, abv=40, tare_g=500),
            "The scale shows 400 g, less than the empty vessel's 500 g.",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

"""Keeping: published worked values, the verdicts on both sides of each floor, and what must always hold."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.errors import OutOfRange
from batches.calc.keeping import (
    FLOORS,
    TRADE_FLOORS,
    Floors,
    Keeping,
    acid_keeping,
    botulinum_possible,
    ethanol_floor,
    free_water,
    glycerol_activity,
    glycerol_keeping,
    honey_keeping,
    may_grow,
    oil_keeping,
    spirit_keeping,
    syrup_keeping,
    syrup_parts,
    water_keeping,
)
from batches.calc.mixing import blend, with_plant_water
from batches.calc.sources import Mark

KEEPS, COLD, NOT = Keeping.KEEPS, Keeping.COLD, Keeping.NOT
GRAMS = st.floats(1, 1e4)


def test_500_g_of_sugar_in_a_litre_of_syrup() -> None:
    """UNC, Preserving Syrups: free water 411 mL, 74 mL of ethanol, which is 78 mL of 95 %."""
    found = free_water(ml=1000, sugar_g=500)
    assert found.free_water_ml == approx(411, abs=0.6)
    assert found.needed_ml == approx(74, abs=0.1)
    assert found.to_add_ml == approx(78, abs=0.1)
    assert (found.verdict.keeping, found.margin_ml) == (NOT, approx(-found.needed_ml))
    assert "78\u00a0mL of spirit of 95.0\u00a0% vol" in found.verdict.changes[0]


def test_750_ml_at_55_percent() -> None:
    """UNC, Preserving Syrups: 412.5 g of sugar; free water 264.5 mL, ethanol 47.6 mL."""
    found = free_water(ml=750, sugar_g=412.5)
    assert (found.free_water_ml, found.needed_ml) == (approx(264.5, abs=0.05), approx(47.6, abs=0.05))


def test_usp_syrup_passes() -> None:
    """USP 28 Syrup: 85 g in 100 mL at SG 1.313; 150 mL hold 127.5 g sugar and 69.45 g water, 64.7 % w/w."""
    sugar, water = syrup_parts(ml=150, sugar_wv=85, density_g_ml=1.313)
    assert (sugar, water) == (approx(127.5), approx(69.45))
    found = syrup_keeping(sugar_g=sugar, water_g=water)
    assert found.sugar_ww == approx(64.7, abs=0.05)
    assert (found.verdict.keeping, found.to_add_g, found.verdict.changes) == (KEEPS, 0, ())


def test_bp_syrup_passes_and_both_pharmacopoeias_need_no_spirit() -> None:
    """BP Syrup: 667 g of sucrose made up to 1,000 g. 85 % w/v has no free water (UNC)."""
    assert syrup_keeping(sugar_g=667, water_g=333).verdict.keeping is KEEPS
    assert free_water(ml=1000, sugar_g=850).verdict.keeping is KEEPS
    assert free_water(ml=1000, sugar_g=850).free_water_ml == approx(0, abs=0.5)


def test_honey_and_decoction_do_not_stand_on_a_shelf() -> None:
    """500 mL of decoction and 500 g of honey of 18 % water: about 59 % water, recomputed here by mass."""
    decoction = 500 * 0.99820
    found = honey_keeping(honey_g=500, water_g=decoction)
    assert found.water_ww == approx(59, abs=0.1)
    assert found.water_ww == approx(100 * (90 + decoction) / (500 + decoction))
    assert (found.verdict.keeping, found.verdict.missed[0].name) == (COLD, "Water")
    assert honey_keeping(honey_g=500, water_g=900).verdict.keeping is NOT


def test_glycerol_on_fresh_herb() -> None:
    """200 mL on 100 g at 85 %: 70.2 % v/v, 74.8 % w/w (glycerol 1.261 g/mL)."""
    found = glycerol_keeping(glycerol_ml=200, water_g=85)
    assert found.glycerol_vv == approx(70.2, abs=0.1)
    assert found.glycerol_ww == approx(100 * 252.2 / (252.2 + 85), abs=0.01) == approx(74.8, abs=0.05)
    assert found.verdict.keeping is KEEPS


def test_glycerol_75_to_25_on_dried_herb() -> None:
    """500 mL of 75:25 on 100 g at 10 %: 73.5 % v/v, 77.8 % w/w."""
    found = glycerol_keeping(glycerol_ml=375, water_g=125 * 0.9982 + 10)
    assert found.glycerol_vv == approx(73.5, abs=0.05)
    assert found.glycerol_ww == approx(77.8, abs=0.1)


def test_vinegar_on_fresh_herb_falls_below_four_percent() -> None:
    """300 mL of 5 % on 100 g at 85 %: 15 g of acid in 385 mL, 3.90 %."""
    found = acid_keeping(vinegar_ml=300, acidity=5, other_ml=85, ph=2.9)
    assert found.acid_percent == approx(100 * 15 / 385) == approx(3.90, abs=0.005)
    assert (found.verdict.keeping, found.to_add_ml) == (COLD, approx(40))


@pytest.mark.parametrize(
    ("percent", "activity"),
    [(40, 0.885), (46, 0.857), (50, 0.836), (55, 0.807), (60, 0.773), (65, 0.734), (70, 0.687), (75, 0.630)],
)
def test_glycerol_water_activity(percent: float, activity: float) -> None:
    """Raoult's law, recomputed from the atoms: IUPAC weights C 12.011, H 1.008, O 15.999."""
    glycerol, water = 3 * 12.011 + 8 * 1.008 + 3 * 15.999, 2 * 1.008 + 15.999
    moles = (100 - percent) / water, percent / glycerol
    assert (
        glycerol_activity(percent) == approx(moles[0] / sum(moles), abs=1e-4) == approx(activity, abs=5.5e-4)
    )
    ml = percent / 1.261
    assert glycerol_keeping(glycerol_ml=ml, water_g=100 - percent).activity == approx(activity, abs=5.5e-4)


def test_sixty_by_volume_is_sixty_five_by_mass() -> None:
    found = glycerol_keeping(glycerol_ml=60, water_g=40 * 0.9982)
    assert (found.glycerol_vv, found.glycerol_ww) == (approx(60, abs=0.01), approx(65, abs=0.6))


@pytest.mark.parametrize(
    ("activity", "left"), [(0.96, 8), (0.95, 8), (0.94, 7), (0.856, 4), (0.61, 1), (0.59, 0)]
)
def test_what_still_grows(activity: float, left: int) -> None:
    """Beuchat (1981): each group's lower limit of growth."""
    assert len(may_grow(activity)) == left


@pytest.mark.parametrize(
    ("ph", "activity", "possible"),
    [
        (4.7, 0.86, True), (4.6, 0.99, False), (6.8, 0.85, False), (None, 0.99, True), (None, 0.8, False),
        (6.8, None, True), (None, None, True), (3.9, None, False),
    ],
)  # fmt: skip
def test_botulinum_needs_both(ph: float | None, activity: float | None, possible: bool) -> None:
    """pH above 4.6 AND water activity above 0.85; what was not measured counts as bad."""
    assert botulinum_possible(ph=ph, activity=activity) is possible


@pytest.mark.parametrize(
    ("abv", "ph", "verdict", "floor"),
    [
        (28, None, KEEPS, 20), (20, 7, KEEPS, 20), (19, None, COLD, 20), (18, None, COLD, 20),
        (17.9, None, NOT, 20), (17.9, 5.1, NOT, 20), (15, 5, COLD, 20), (14.9, 4, NOT, 20),
    ],
)  # fmt: skip
def test_spirit(abv: float, ph: float | None, verdict: Keeping, floor: float) -> None:
    """15 % at pH about 5, 18 % neutral (UNC); the trade's 20 % stands above both."""
    found = spirit_keeping(ml=1000, abv=abv, ph=ph)
    assert (found.verdict.keeping, found.floor_abv) == (verdict, floor)
    assert found.margin_abv == approx(abv - floor)
    assert ethanol_floor(ph).value == (15 if ph is not None and ph <= 5 else 18)


def test_a_workshop_edits_its_floor() -> None:
    stricter = FLOORS.changed("ethanol_trade", 30)
    found = spirit_keeping(ml=1000, abv=28, floors=stricter)
    assert (found.verdict.keeping, found.floor_abv) == (COLD, 30)
    assert found.verdict.floor.source == "this workshop's own setting"
    assert spirit_keeping(ml=1000, abv=28).verdict.keeping is KEEPS
    lower = FLOORS.changed("ethanol_trade", 5)
    assert spirit_keeping(ml=1000, abv=17, floors=lower).floor_abv == 18
    assert [floor.value for floor in TRADE_FLOORS] == [20, 25, 30]


def test_every_floor_says_where_it_comes_from() -> None:
    for field in fields(Floors):
        floor = getattr(FLOORS, field.name)
        assert floor.words and floor.cited
        assert floor.source or floor.mark in (Mark.PRACTICE, Mark.MEMORY)
    assert FLOORS.honey_water.cited == "from memory, to confirm"
    assert FLOORS.syrup.cited.endswith("; worked out")


def test_a_verdict_speaks() -> None:
    check = spirit_keeping(ml=1000, abv=17.5, ph=5).verdict.checks[0]
    assert check.sentence == (
        "Strength 17.5\u00a0% vol; at least 20.0\u00a0% vol is asked for "
        "(taught by herbalists; common practice, no source)."
    )
    sour = acid_keeping(vinegar_ml=300, acidity=5, other_ml=0, ph=4.2).verdict.checks[1]
    assert sour.sentence == "pH 4.2; at most 4 is asked for (common practice, no source)."


@pytest.mark.parametrize(
    ("sugar", "verdict", "crystals"),
    [(70, KEEPS, True), (64.5, KEEPS, False), (64, COLD, False), (39, NOT, False)],
)
def test_syrups(sugar: float, verdict: Keeping, crystals: bool) -> None:
    found = syrup_keeping(sugar_g=sugar, water_g=100 - sugar)
    assert found.verdict.keeping is verdict
    assert any("crystallises" in caution for caution in found.verdict.cautions) is crystals


def test_honey_with_dry_herb_keeps_and_wet_honey_cannot_dry_itself() -> None:
    dry = honey_keeping(honey_g=500)
    assert (dry.verdict.keeping, dry.verdict.changes, dry.honey_to_add_g) == (KEEPS, (), 0)
    wet = honey_keeping(honey_g=500, honey_water=0.2)
    assert (wet.verdict.keeping, wet.honey_to_add_g, wet.sugar_to_add_g) == (COLD, 0, 0)
    assert len(wet.verdict.changes) == 1
    damp = honey_keeping(honey_g=500, water_g=50)
    assert len(damp.verdict.changes) == 2 and damp.honey_to_add_g > 0 and damp.sugar_to_add_g == 0
    assert len(honey_keeping(honey_g=500, water_g=500).verdict.changes) == 3
    assert "12 months" in dry.verdict.cautions[0]


@pytest.mark.parametrize(
    ("percent", "verdict"), [(65, KEEPS), (64.9, COLD), (55, COLD), (54.9, NOT), (0, NOT)]
)
def test_glycerites(percent: float, verdict: Keeping) -> None:
    found = glycerol_keeping(glycerol_ml=percent / 1.261, water_g=100 - percent)
    assert found.verdict.keeping is verdict
    assert bool(found.verdict.changes) is (verdict is not KEEPS)
    assert "nothing known" in glycerol_keeping(glycerol_ml=100, water_g=0).verdict.cautions[0]


@pytest.mark.parametrize(
    ("acidity", "other", "ph", "verdict"),
    [
        (5, 0, 3.0, KEEPS), (5, 75, 4.0, KEEPS), (5, 0, 4.1, COLD), (5, 0, 4.7, NOT), (5, 85, 3.0, COLD),
        (5, 85, 4.6, COLD), (5, 0, None, COLD), (5, 85, None, NOT), (3, 0, 3.0, COLD),
    ],
)  # fmt: skip
def test_vinegars(acidity: float, other: float, ph: float | None, verdict: Keeping) -> None:
    """4 % and pH 4.0 together; above pH 4.6 never (Clemson extension)."""
    found = acid_keeping(vinegar_ml=300, acidity=acidity, other_ml=other, ph=ph)
    assert found.verdict.keeping is verdict
    assert bool(found.verdict.changes) is (verdict is not KEEPS)
    assert any("Measure the pH" in way for way in found.verdict.changes) is (ph is None)
    assert any("stronger vinegar" in way for way in found.verdict.changes) is (acidity == 3)


@pytest.mark.parametrize(
    ("moisture", "water", "verdict"),
    [(0.1, 0, KEEPS), (0.11, 0, COLD), (0.13, 0, NOT), (0.8, 0, NOT), (0.05, 1, NOT)],
)
def test_oils_take_no_water(moisture: float, water: float, verdict: Keeping) -> None:
    found = oil_keeping(herb_g=100, moisture=moisture, water_g=water)
    assert found.verdict.keeping is verdict
    assert any("botulinum" in caution for caution in found.verdict.cautions) is (verdict is not KEEPS)
    assert bool(found.verdict.changes) is (verdict is not KEEPS)


def test_a_fresh_herb_for_oil_is_dried_four_and_a_half_to_one() -> None:
    """80 % water to 10 %: 4.5 to 1."""
    found = oil_keeping(herb_g=450, moisture=0.8)
    assert (found.dry_to_g, found.to_lose_g) == (approx(100), approx(350))


@pytest.mark.parametrize(("hours", "verdict", "left"), [(0, COLD, 24), (24, COLD, 0), (25, NOT, -1)])
def test_a_water_extract_has_a_day_in_the_cold(hours: float, verdict: Keeping, left: float) -> None:
    found = water_keeping(hours=hours)
    assert (found.verdict.keeping, found.left_h, found.verdict.margin) == (verdict, left, left)


@given(st.floats(10, 1e4), st.floats(0, 19.9), st.floats(40, 96))
def test_the_spirit_said_brings_it_to_the_floor(ml: float, abv: float, spirit: float) -> None:
    found = spirit_keeping(ml=ml, abv=abv, spirit_abv=spirit)
    after = blend([(ml, abv), (found.to_add_ml, spirit)])
    assert after.abv == approx(20, abs=1e-6)
    assert spirit_keeping(ml=after.ml, abv=after.abv + 1e-6).verdict.keeping is KEEPS


@given(st.floats(100, 1e4), st.floats(0, 1.5), st.floats(0, 30))
def test_the_spirit_put_into_a_syrup_makes_it_keep(ml: float, per_ml: float, abv: float) -> None:
    found = free_water(ml=ml, sugar_g=ml * per_ml, abv=abv)
    after = free_water(ml=ml, sugar_g=ml * per_ml, abv=abv + 95 * found.to_add_ml / ml + 1e-9)
    assert after.verdict.keeping is KEEPS and found.to_add_ml >= 0
    assert (found.verdict.keeping is KEEPS) == (found.to_add_ml == 0)


@given(GRAMS, GRAMS)
def test_the_sugar_said_makes_a_syrup_keep(sugar: float, water: float) -> None:
    found = syrup_keeping(sugar_g=sugar, water_g=water)
    assert syrup_keeping(sugar_g=sugar + found.to_add_g, water_g=water).verdict.keeping is KEEPS
    assert syrup_keeping(sugar_g=3 * sugar, water_g=3 * water).sugar_ww == approx(found.sugar_ww)


@given(GRAMS, st.floats(0, 1e3), st.floats(0.1, 0.18))
def test_the_honey_said_dries_it_again(honey: float, water: float, own: float) -> None:
    found = honey_keeping(honey_g=honey, water_g=water, honey_water=own)
    more = honey + found.honey_to_add_g
    assert honey_keeping(honey_g=more, water_g=water, honey_water=own).verdict.keeping is KEEPS
    sugar, wet = honey * (1 - own) + found.sugar_to_add_g, honey * own + water
    if found.sugar_to_add_g:
        assert 100 * sugar / (sugar + wet) == approx(64.5)


@given(st.floats(0, 1e4), GRAMS)
def test_the_glycerol_said_makes_a_glycerite_keep(ml: float, water: float) -> None:
    found = glycerol_keeping(glycerol_ml=ml, water_g=water)
    after = glycerol_keeping(glycerol_ml=ml + found.to_add_ml, water_g=water)
    assert after.verdict.keeping is KEEPS
    assert after.activity <= found.activity + 1e-12


@given(GRAMS, st.floats(0, 1e4), st.floats(4.01, 20))
def test_the_vinegar_said_brings_the_acid_back(ml: float, other: float, acidity: float) -> None:
    found = acid_keeping(vinegar_ml=ml, acidity=acidity, other_ml=other, ph=3)
    assert (
        acid_keeping(vinegar_ml=ml + found.to_add_ml, acidity=acidity, other_ml=other, ph=3).verdict.keeping
        is KEEPS
    )


@given(GRAMS, st.floats(0, 0.95))
def test_the_herb_dried_as_said_is_dry_enough(herb: float, moisture: float) -> None:
    found = oil_keeping(herb_g=herb, moisture=moisture)
    left = herb * moisture - found.to_lose_g
    assert left / found.dry_to_g <= 0.1 + 1e-9


def test_packed_fresh_herb_in_weak_spirit_stands_at_the_edge() -> None:
    """100 g at 90 % in 100 mL of 40 %: 21.1 % vol (R 22), 1 % vol above the trade's floor."""
    jar = with_plant_water(100, 40, 100, 0.9)
    assert spirit_keeping(ml=jar.ml, abv=jar.abv).margin_abv == approx(1.1, abs=0.06)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: spirit_keeping(ml=0, abv=20), "The volume must be more than 0"),
        (lambda: spirit_keeping(ml=1, abv=101), "A strength lies between 0 and 100 % vol; 101 does not."),
        (lambda: spirit_keeping(ml=1, abv=10, ph=15), "A pH lies between 0 and 14; 15 does not."),
        (
            lambda: spirit_keeping(ml=1, abv=10, spirit_abv=20),
            "A spirit of 20 % vol cannot raise it to 20 % vol.",
        ),
        (
            lambda: free_water(ml=100, sugar_g=200),
            "200 g of sugar does not go into 100 mL: from 0 to 155 g does",
        ),
        (
            lambda: free_water(ml=100, sugar_g=10, spirit_abv=101),
            "The spirit's strength lies between 0 and 100",
        ),
        (
            lambda: syrup_parts(ml=150, sugar_wv=140, density_g_ml=1.3),
            "100 mL weigh 130 g: they cannot hold 140 g",
        ),
        (lambda: syrup_keeping(sugar_g=10, water_g=0), "The water must be more than 0"),
        (
            lambda: syrup_keeping(sugar_g=10, water_g=5, floors=FLOORS.changed("syrup", 100)),
            "A syrup floor must lie below 100 % w/w",
        ),
        (
            lambda: honey_keeping(honey_g=100, honey_water=18),
            "The honey's own water must lie between 0 and 1",
        ),
        (lambda: glycerol_keeping(glycerol_ml=0, water_g=0), "There is neither glycerol nor water."),
        (
            lambda: glycerol_keeping(glycerol_ml=1, water_g=0, floors=FLOORS.changed("glycerol", 100)),
            "A glycerol floor must lie below 100 % w/w.",
        ),
        (lambda: glycerol_activity(101), "Glycerol by mass lies between 0 and 100 %; 101 % does not."),
        (lambda: may_grow(1.2), "A water activity lies between 0 and 1; 1.2 does not."),
        (
            lambda: acid_keeping(vinegar_ml=1, acidity=0, other_ml=0),
            "A vinegar's acid lies above 0 and up to 100 g",
        ),
        (lambda: oil_keeping(herb_g=1, moisture=2), "The moisture must lie between 0 and 1, not 2."),
        (lambda: water_keeping(hours=-1), "The hours since it was made must be 0 or more"),
        (lambda: FLOORS.changed("changed", 1), "There is no floor called changed."),
        (lambda: FLOORS.changed("syrup", 101), "The floor for sucrose in a syrup must lie between 0 and 100"),
        (lambda: FLOORS.changed("syrup", -1), "The floor for sucrose in a syrup must be 0 or more, not -1."),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

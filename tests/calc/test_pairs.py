"""Wrong pairs, each with its published figure, and each silent where nothing is wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from batches.calc.composition import Composition, of_glycerol, of_honey, of_vinegar
from batches.calc.keeping import FLOORS
from batches.calc.mixing import with_plant_water
from batches.calc.pairs import CHECKS, Paired, warned
from batches.stages.preparations import PREPARATIONS


def said(name: str, facts: Paired) -> str:
    return " ".join(one.words for one in warned([name], facts)).replace("\u00a0", " ")


def stops(name: str, facts: Paired) -> list[bool]:
    return [one.stops for one in warned([name], facts)]


def test_every_preparation_names_checks_that_exist() -> None:
    assert {name for one in PREPARATIONS.values() for name in one.warnings} == set(CHECKS)


def test_weak_spirit_on_packed_fresh_herb_lands_at_the_edge_of_spoiling() -> None:
    """100 g at 80 % water in 100 mL of 40 % vol: 22.2 % vol; at 90 % water 21.1, adding volumes."""
    for moisture, value, lands in ((0.8, 22.2, "22.2 % vol"), (0.9, 21.1, "21.0 % vol")):
        jar = with_plant_water(100, 40.0, 100, moisture)
        assert jar.abv == pytest.approx(value, abs=0.06)
        facts = Paired(fresh=True, jar_abv=jar.abv, herb_g=100, moisture=moisture)
        assert lands in said("packed_fresh", facts)
        assert stops("packed_fresh", facts) == [False]
    strong = with_plant_water(200, 95.0, 100, 0.8)  # 69.54 % vol
    assert not warned(["packed_fresh"], Paired(fresh=True, jar_abv=strong.abv))


def test_weak_spirit_on_fresh_herb_is_told_the_spirit_it_needs() -> None:
    """1:1 at 80 % water to 25 % vol: (25 * (100 + 80)) / 100 = 45 % adding volumes, less by mass."""
    jar = with_plant_water(100, 40.0, 100, 0.8)
    facts = Paired(fresh=True, jar_abv=jar.abv, herb_g=100, moisture=0.8, menstruum_ml=100)
    assert "a menstruum of 44.9 % vol brings it to 25 % vol" in said("packed_fresh", facts)
    drowned = replace(facts, menstruum_ml=20, jar_abv=with_plant_water(20, 40.0, 100, 0.8).abv)
    assert "impossible at this ratio" in said("packed_fresh", drowned)
    assert "Use a higher ratio" in said("packed_fresh", drowned)


def test_fresh_herb_in_oil_stops_and_names_botulism() -> None:
    """pH > 4.6 and a water activity > 0.85: 21 CFR 114.3; extension bulletins: dried herb only."""
    facts = Paired(herb_g=100, moisture=0.8, fresh=True)
    assert "Botulism: dried herb only." in said("oil_fresh", facts)
    assert "4.6" in warned(["oil_fresh"], facts)[0].source
    assert stops("oil_fresh", facts) == [True]
    assert not warned(["oil_fresh"], replace(facts, moisture=0.08))


def test_a_resinous_herb_is_not_doubly_extracted_from_strong_spirit() -> None:
    """Calendula and rosemary fall out as a sticky mass when let down: taught by practitioners."""
    facts = Paired(latin_name="Calendula officinalis", menstruum_abv=90.0)
    assert "falls out" in said("resin", facts)
    assert stops("resin", facts) == [False]
    assert not warned(["resin"], replace(facts, menstruum_abv=50.0))
    assert not warned(["resin"], replace(facts, latin_name="Trametes versicolor"))


def test_a_percolator_wants_half_spirit() -> None:
    """At least 50 % ethanol, else swelling blocks the column: herbal practice, after Moore."""
    assert "swells" in said("weak_column", Paired(herb_g=200, menstruum_abv=45.0))
    assert not warned(["weak_column"], Paired(herb_g=200, menstruum_abv=50.0))


def test_fresh_herb_thins_a_vinegar_below_four() -> None:
    """300 mL of 5 % vinegar on 100 g at 85 % water: 3.90 % counting its grams as mL; 4 % is the floor."""
    vinegar = of_vinegar(300 * of_vinegar(1.0).density / 1000)
    facts = Paired(jar=vinegar + Composition.of(water=85))
    assert "3.89 % acid" in said("weak_acid", facts)
    assert stops("weak_acid", facts) == [True]
    assert not warned(["weak_acid"], Paired(jar=vinegar + Composition.of(water=10)))


@pytest.mark.parametrize(
    ("glycerol_ml", "water_g", "keeps"),
    [
        (200, 85, True),  # on 100 g fresh at 85 %: 70.2 % v/v, 74.8 % w/w
        (375, 0.25 * 500 * 0.9982 + 10, True),  # 75:25, 500 mL on 100 g dried: 73.5 % v/v, 77.8 % w/w
        (100, 85, False),
    ],
)
def test_a_glycerite_by_its_water(glycerol_ml: float, water_g: float, keeps: bool) -> None:
    """Worked values of glycerites; Raoult's law puts 65 % w/w at a water activity of about 0.73."""
    jar = Composition.of(glycerol=glycerol_ml * 1.261, water=water_g)
    assert (warned(["weak_glycerol"], Paired(jar=jar)) == []) is keeps
    assert of_glycerol(100).of_which("glycerol") == pytest.approx(99.5)


def test_honey_with_a_decoction_is_not_stable() -> None:
    """500 mL of decoction and 500 g of honey: about 59 % water (worked value): refrigerate."""
    whole = of_honey(500) + Composition.of(water=499.1)
    facts = Paired(honey_g=500, bottled=whole)
    assert "Water 59 % w/w" in said("honey_fresh", facts)
    assert not warned(["honey_fresh"], Paired(honey_g=500, bottled=of_honey(500)))


def test_fresh_herb_wets_an_oxymel_which_its_acid_still_keeps() -> None:
    whole = of_honey(300) + of_vinegar(300) + Composition.of(water=85)
    facts = Paired(honey_g=300, bottled=whole, fresh=True)
    assert "ferments on the shelf" in said("honey_fresh", facts)
    assert stops("honey_fresh", facts) == [False]
    assert not warned(["honey_fresh"], replace(facts, fresh=False))


def test_usp_syrup_passes_and_a_thin_one_does_not() -> None:
    """USP Syrup is 64.7 % w/w sucrose; 500 g in 1 L leaves 411 mL of free water (UNC, Preserving Syrups)."""
    assert not warned(["thin_syrup"], Paired(bottled=Composition.of(sugar=127.5, water=69.45)))
    thin = Paired(bottled=Composition.of(sugar=300, water=700))
    assert stops("thin_syrup", thin) == [True]
    assert not warned(["thin_syrup"], replace(thin, honey_g=10.0))


def test_spirit_below_the_floor() -> None:
    """The pharmacy's floor of 18 % vol, neutral (UNC); above it and below the trade's it keeps cold."""
    weak = Paired(bottled_ml=500, bottled_abv=15.0)
    assert stops("floor", weak) == [True]
    assert stops("floor", replace(weak, bottled_abv=19.0)) == [False]
    assert not warned(["floor"], replace(weak, bottled_abv=28.0))
    high = FLOORS.changed("ethanol_trade", 30.0)
    assert stops("floor", replace(weak, bottled_abv=28.0, floors=high)) == [False]


def test_a_tea_keeps_a_day_and_a_fortified_one_by_its_strength() -> None:
    assert "24 h" in said("keeps_a_day", Paired())
    assert not warned(["keeps_a_day"], Paired(bottled_ml=500, bottled_abv=25.0))


def test_what_a_check_does_not_know_it_does_not_say() -> None:
    for name in (
        "floor",
        "packed_fresh",
        "weak_column",
        "weak_acid",
        "weak_glycerol",
        "thin_syrup",
        "honey_fresh",
    ):
        assert not warned([name], Paired()), name


def test_what_stops_comes_first() -> None:
    facts = Paired(fresh=True, jar_abv=22.0, bottled_ml=100, bottled_abv=10.0)
    assert [one.stops for one in warned(["packed_fresh", "floor"], facts)] == [True, False]

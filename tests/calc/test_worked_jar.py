"""One jar worked through by hand from the density formula (OIML R 22), number by number.

180 g of dried bracket fungus at 9 % moisture in 900 mL of 80 % vol, 760 mL pressed, brought to 28 % vol.
The expected values were worked out apart from this code, to the digits shown.
"""

from __future__ import annotations

from pytest import approx, fixture

from batches.calc.alcohol import ethanol_g, grams, proof_from_abv, true_abv, volume_at
from batches.calc.combine import Landing, landing
from batches.calc.extraction import HerbPerMl, Pressing, herb_per_ml, pressed
from batches.calc.mixing import blend, dilute, make_up, to_target, with_plant_water
from batches.calc.mixtures import Dilution, InTheJar


@fixture
def jar() -> InTheJar:
    return with_plant_water(900, 80, 180, 0.09)


@fixture
def press(jar: InTheJar) -> Pressing:
    return pressed(jar_ml=jar.ml, jar_abv=jar.abv, herb_g=180, moisture=0.09, pressed_ml=760)


@fixture
def combined(jar: InTheJar) -> Dilution:
    return to_target(760, jar.abv, 28)


@fixture
def herb(jar: InTheJar, combined: Dilution) -> HerbPerMl:
    return herb_per_ml(herb_g=180, jar_ml=jar.ml, pressed_ml=760, final_ml=combined.final_ml)


def land(jar: InTheJar, press: Pressing, extract_ml: float) -> Landing:
    return landing(tincture_ml=760, abv=jar.abv, extract_ml=extract_ml, marc_ethanol_ml=press.marc_ethanol_ml)


def test_the_menstruum_is_made_up_from_96_percent_spirit() -> None:
    made = make_up(900, 80, 96)
    assert made.spirit_ml == approx(750, abs=0.05)
    assert made.water_ml == approx(168, abs=0.5)


def test_the_menstruum_by_mass() -> None:
    assert grams(900, 80) == approx(773.34, abs=0.005)
    assert ethanol_g(900, 80) == approx(568.3, abs=0.05)


def test_the_herbs_own_water_weakens_the_jar(jar: InTheJar) -> None:
    assert jar.herb_water_g == approx(16.2)
    assert jar.ml == approx(914.99, abs=0.005)
    assert jar.abv == approx(78.69, abs=0.005)


def test_what_the_marc_holds_back(press: Pressing) -> None:
    assert press.retained_ml == approx(154.99, abs=0.005)
    assert press.retention == approx(0.946, abs=0.0005)
    assert press.marc_ethanol_ml == approx(121.96, abs=0.005)
    assert press.marc_ethanol_g == approx(96.26, abs=0.005)


def test_the_water_extract_that_brings_it_to_28_percent(combined: Dilution) -> None:
    assert combined.water_ml == approx(1407.1, abs=0.05)
    assert combined.final_ml == approx(2135.9, abs=0.06)


def test_the_same_by_the_scale(combined: Dilution, jar: InTheJar) -> None:
    assert grams(760, jar.abv) == approx(655.8, abs=0.05)
    assert combined.water_g == approx(1404.5, abs=0.05)
    assert combined.final_g == approx(2060.3, abs=0.05)


def test_two_millilitres_carry_442_mg_of_ethanol() -> None:
    assert ethanol_g(2, 28) * 1000 == approx(442.0, abs=0.05)


def test_herb_per_ml_on_both_bases(herb: HerbPerMl) -> None:
    assert herb.by_tincture_alone == approx(70.0, abs=0.05)
    assert herb.by_all_herb == approx(84.3, abs=0.05)
    assert herb.ratio_all == approx(11.9, abs=0.05)


def test_ethanol_left_in_the_extract_raises_it(jar: InTheJar, press: Pressing, combined: Dilution) -> None:
    found = land(jar, press, combined.water_ml)
    assert found.floor_abv == approx(28.0, abs=1e-9)
    assert dict(found.shares) == approx({0.05: 28.3, 0.10: 28.6, 0.25: 29.4}, abs=0.05)
    assert found.high_abv == approx(29.4, abs=0.05)


def test_extract_read_hot_is_less_than_it_looks(jar: InTheJar, press: Pressing) -> None:
    cold = volume_at(1407, 0, 80, 20)
    assert cold == approx(1370, abs=0.5)
    assert land(jar, press, cold).floor_abv == approx(28.5, abs=0.05)


def test_too_little_and_too_much_extract(jar: InTheJar, press: Pressing) -> None:
    assert land(jar, press, 1200).floor_abv == approx(31.0, abs=0.05)
    assert land(jar, press, 1700).floor_abv == approx(24.6, abs=0.05)


def test_the_rule_of_thumb_misses(combined: Dilution) -> None:
    assert combined.rule_of_thumb_ml == approx(1375.9, abs=0.06)
    assert combined.rule_of_thumb_final_ml == approx(2104.6, abs=0.05)
    assert combined.rule_of_thumb_abv == approx(28.42, abs=0.005)


def test_the_rule_of_thumb_from_the_spirits_label(jar: InTheJar) -> None:
    extract = dilute(760, 80, 28).rule_of_thumb_ml
    assert extract == approx(1411.4, abs=0.05)
    lands = blend([(760, jar.abv), (extract, 0)])
    assert lands.ml == approx(2140.2, abs=0.05)
    assert lands.abv == approx(27.94, abs=0.005)


def test_spirit_let_down_from_92_to_35_percent() -> None:
    made = dilute(400, 92, 35)
    assert made.water_ml == approx(676.99, abs=0.005)
    assert made.final_ml == approx(1051.4, abs=0.05)
    assert made.rule_of_thumb_ml == approx(651.43, abs=0.005)
    assert made.rule_of_thumb_abv == approx(35.87, abs=0.005)
    assert made.rule_of_thumb_final_ml == approx(1026.1, abs=0.05)


def test_spirit_measured_warm() -> None:
    cold = volume_at(400, 92, 27, 20)
    assert cold == approx(397.03, abs=0.005)
    assert dilute(cold, 92, 35).water_ml == approx(671.96, abs=0.01)


def test_an_alcoholometer_read_warm_and_cool() -> None:
    assert true_abv(35, 27) == approx(32.15, abs=0.005)
    assert true_abv(35, 15) == approx(37.05, abs=0.005)


def test_forty_percent_in_us_proof() -> None:
    assert proof_from_abv(40) == approx(79.86, abs=0.005)


def test_fresh_herb_is_mostly_water() -> None:
    fresh = with_plant_water(250, 95, 125, 0.75)
    assert fresh.ml == approx(335.6, abs=0.05)
    assert fresh.abv == approx(70.8, abs=0.05)


def test_plant_water_replaces_added_water_gram_for_gram() -> None:
    """With everything kept the final volume does not depend on where the water came from."""
    dry, wet = dilute(500, 80, 30), with_plant_water(500, 80, 100, 0.5)
    kept = to_target(wet.ml, wet.abv, 30)
    assert kept.final_ml == approx(dry.final_ml)
    assert kept.water_g + 50 == approx(dry.water_g)

"""Plans of each preparation that can be made, against published and worked values; then into the jar."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from batches.actions.charge import charge
from batches.actions.formulas import approve_version, create_formula
from batches.actions.plan_batch import plan_batch
from batches.models import Vessel
from batches.queries.beside import plan_beside
from batches.queries.jar import jar_of
from batches.queries.plans import BAG, BOTTLES, GRAMS, Answer, Question, solve
from batches.queries.recipes import Recipe
from batches.stages.courses import ready
from batches.stages.preparations import PREPARATIONS
from tests.builders import NOON, a_maker, an_owner
from tests.builders_batches import TODAY, a_lot, a_vessel, bottles, goods, spirit, tap_water
from tests.builders_preparations import BASE, a_planned, a_version_of, herb, stock_of
from workshop.calc.units import parse_quantity
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
NBSP = "\u00a0"
HERBED = [one.key for one in ready() if one.herb and one.key in BASE]


def said(amount: str) -> Any:
    return parse_quantity(amount, field="x", units=("g", "mL"), decimal_mark=".")


def answer_of(
    key: str,
    *,
    moisture: float = 0.1,
    way: str = GRAMS,
    herb_g: float = 100.0,
    asked: Any = None,
    **changes: Any,
) -> Answer:
    version = a_version_of(key, **changes)
    stock_of(version, moisture=moisture)
    return solve(Question(version=version, way=way, today=TODAY, herb_g=herb_g, **(asked or {})))


@pytest.mark.parametrize("key", HERBED)
def test_every_preparation_that_can_be_made_is_planned_and_begun(key: str) -> None:
    batch = a_planned(key, moisture=0.8 if key == "fresh" else 0.1)
    assert [stage.kind for stage in batch.stages.all()] == list(PREPARATIONS[key].steps())
    assert plan_beside(batch) or key == "folk"


@pytest.mark.parametrize("key", [key for key in HERBED if key != "folk"])
def test_backwards_fills_the_bottles(key: str) -> None:
    moisture = 0.8 if key == "fresh" else 0.1
    answer = answer_of(key, way=BOTTLES, herb_g=0, moisture=moisture, asked={"bottles": 10})
    assert answer.solved is not None, answer.stops
    assert answer.solved.bottles == 10


@pytest.mark.parametrize(
    ("ratio_basis", "abv", "ratio", "ml", "g"),
    [
        ("wv", 60.0, 5.0, 500.0, 454.6),  # 100 g, 1:5 by volume: 500 mL
        ("mm", 60.0, 5.0, 550.0, 500.0),  # by mass at 60 % vol, 0.90911 g/mL (OIML R 22): 550.0 mL
        ("wv", 95.0, 5.0, 500.0, 405.7),  # 500 mL of 95 % vol weigh 405.7 g
    ],
)
def test_ratios_by_volume_and_by_mass(
    ratio_basis: str, abv: float, ratio: float, ml: float, g: float
) -> None:
    """Worked values; densities of OIML R 22."""
    answer = answer_of("maceration", ratio_basis=ratio_basis, menstruum_abv=abv, ratio=ratio)
    assert answer.figures["menstruum_ml"].value == pytest.approx(ml, abs=0.05)
    assert answer.figures["menstruum_g"].value == pytest.approx(g, abs=0.1)


@pytest.mark.parametrize(
    ("moisture", "abv", "ml"), [(0.6, 74.68, 254.4), (0.8, 69.54, 273.2), (0.9, 67.21, 282.7)]
)
def test_a_fresh_jar_counts_the_herbs_water(moisture: float, abv: float, ml: float) -> None:
    """100 g fresh in 200 mL of 95 % vol: mass balance with densities of OIML R 22."""
    answer = answer_of("fresh", moisture=moisture)
    assert answer.plan is not None
    assert answer.plan.jar_abv == pytest.approx(abv, abs=0.02)
    assert answer.plan.jar.ml == pytest.approx(ml, abs=0.1)


def test_a_fresh_herb_of_unknown_water_is_not_guessed_at() -> None:
    version = a_version_of("fresh")
    stock_of(version, moisture=0.8)
    lot = a_lot(herb(), 300)
    answer = solve(Question(version=version, way=GRAMS, today=TODAY, herb_g=100.0, herb_lot=lot))
    assert any("how much water this fresh herb holds" in words for words in answer.stops)


def test_a_lot_that_belies_its_formula_is_named() -> None:
    assert any("it looks dried" in words for words in answer_of("fresh", moisture=0.1).notes)


def test_a_wet_lot_is_named_for_a_dried_herb() -> None:
    assert any("too wet for dried herb" in words for words in answer_of("maceration", moisture=0.3).notes)


def test_a_percolator_drips_so_long() -> None:
    """200 g at 1 to 3 mL/min a kilogram, 45 drops/mL: 9 to 27 drops/min; 1000 mL take 83.3 to 27.8 h."""
    answer = answer_of("percolation", herb_g=200.0)
    found, plan = answer.figures, answer.plan
    assert plan is not None
    assert (found["low_drops_min"].value, found["high_drops_min"].value) == (
        pytest.approx(9),
        pytest.approx(27),
    )
    assert found["slow_hours"].value * 1000 / plan.pressed_ml == pytest.approx(83.3, abs=0.1)
    assert found["fast_hours"].value * 1000 / plan.pressed_ml == pytest.approx(27.8, abs=0.1)


def test_a_glycerite_of_75_to_25() -> None:
    """500 mL of 75:25 on 100 g dried: 375 mL of glycerol, 125 of water; 77.8 % w/w in the jar keeps."""
    answer = answer_of("glycerite")
    found = answer.figures
    assert found["glycerol_ml"].value == pytest.approx(375)
    assert found["water_ml"].value == pytest.approx(125)
    assert found["menstruum_ml"].value == pytest.approx(500)
    assert not answer.pairs


def test_a_vinegar_and_fresh_herb() -> None:
    """300 mL of 5 % vinegar on 100 g at 85 % water: 3.9 % acid, below the floor of 4 %."""
    answer = answer_of("vinegar", ratio=3.0, moisture=0.85, herb_state="fresh")
    assert [one.stops for one in answer.pairs] == [True]
    assert "3.89" in answer.pairs[0].words


def test_an_oil_with_wet_herb_waits_for_the_owners_reason() -> None:
    version = a_version_of("oil")
    stock_of(version, moisture=0.3)
    facts: dict[str, Any] = {"version": version, "way": GRAMS, "herb_g": 100.0, "today": TODAY, "at": NOON}
    with pytest.raises(Refused, match="Only the owner lets this pass"):
        plan_batch(by=a_maker(), reason="It is for today.", **facts)
    with pytest.raises(Refused, match="give the reason") as refused:
        plan_batch(by=an_owner(), **facts)
    assert refused.value.field == "reason"
    batch = plan_batch(by=an_owner(), reason="Used up the same day, kept cold.", **facts)
    assert batch.plan["let_pass"] == "Used up the same day, kept cold."
    assert batch.stages.get(order=1).acts.get(act="planned").reason == "Used up the same day, kept cold."


def test_weak_spirit_on_packed_fresh_herb_is_noted() -> None:
    """40 % vol on 1:1 at 80 % water lands at 22.2 % vol (mass balance, OIML R 22)."""
    answer = answer_of("fresh", ratio=1.0, menstruum_abv=40.0, moisture=0.8)
    assert "22.2" in answer.pairs[0].words
    assert not answer.guarded


def test_a_resinous_double_extraction_is_noted() -> None:
    plant = herb("Calendula", "Calendula officinalis")
    answer = answer_of("double", plant=plant)
    assert any("holds resin" in one.words for one in answer.pairs)
    assert not answer.guarded


def test_a_folk_jar_forecasts_nothing() -> None:
    answer = answer_of("folk", way=BAG)
    assert (answer.solved, answer.unforecast, answer.figures) == (None, True, {})
    assert any("No amounts are forecast" in words for words in answer.notes)


def test_a_tincture_is_poured_on_new_herb_as_it_is() -> None:
    tincture = goods("bulk", "Old thyme tincture")
    recipe = Recipe(parts={"herb": herb(), "menstruum": tincture, "bottle": bottles()}, ratio=5.0)
    version = create_formula(name="Twice", preparation="maceration", recipe=recipe, by=an_owner(), at=NOON)
    approve_version(version=version, by=an_owner(), at=NOON)
    lots = stock_of(version)
    poured = a_lot(tincture, 3000, abv=58.0)
    batch = plan_batch(
        version=version, way=GRAMS, herb_g=100.0, menstruum_lot=poured, today=TODAY, by=an_owner(), at=NOON
    )
    assert batch.plan["menstruum_lot"] == poured.pk
    assert batch.plan["terms"]["menstruum_abv"] == 58.0
    assert lots["herb"].pk == batch.plan["herb_lot"]


@pytest.mark.parametrize(
    ("key", "role", "poured"), [("vinegar", "acid", "500 mL"), ("oil", "menstruum", "500 mL")]
)
def test_what_is_not_spirit_goes_from_its_plan_into_the_jar(key: str, role: str, poured: str) -> None:
    version = a_version_of(key)
    lots = stock_of(version)
    batch = plan_batch(version=version, way=GRAMS, herb_g=100.0, today=TODAY, by=an_owner(), at=NOON)
    assert batch.plan["menstruum_lot"] == lots[role].pk
    charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(lots["herb"], Decimal(100))],
        menstruum_lot=lots[role],
        menstruum=said(poured),
        vessel=Vessel.objects.get(tag="K9"),
        by=an_owner(),
        at=NOON,
    )
    batch.refresh_from_db()
    assert batch.state == batch.State.RUNNING
    assert jar_of(batch) is not None


def test_a_jar_too_small_stops_the_plan() -> None:
    version = a_version_of("vinegar")
    stock_of(version)
    small = a_vessel("K1", 250)
    answer = solve(Question(version=version, way=GRAMS, today=TODAY, herb_g=100.0, vessel=small))
    assert any("K1 holds" in words for words in answer.stops)


def test_a_house_menstruum_begins_without_amounts() -> None:
    parts = {"spirit": spirit(), "water": tap_water()}
    recipe = Recipe(parts=parts, menstruum_abv=60.0, stages={"adjust": {"target_abv": 60.0}})
    version = create_formula(name="House", preparation="menstruum", recipe=recipe, by=an_owner(), at=NOON)
    approve_version(version=version, by=an_owner(), at=NOON)
    stock_of(version)
    batch = plan_batch(version=version, way=BAG, today=TODAY, by=an_owner(), at=NOON)
    assert [stage.kind for stage in batch.stages.all()] == ["adjust"]
    assert batch.plan["spirit_lot"] is not None
    assert batch.plan["herb_g"] is None


def test_a_fluid_extract_is_made_up_to_a_millilitre_a_gram() -> None:
    """1 mL of fluid extract for 1 g of drug: USP <1151>."""
    answer = answer_of("fluid_extract", ratio=4.0)
    assert answer.plan is not None
    assert answer.plan.final_ml == pytest.approx(100.0)
    assert any("more drip than the extract takes" in words for words in answer.notes)
    tight = answer_of("fluid_extract", name="Tight", ratio=2.5)
    assert any("Made up with about" in words for words in tight.notes)


def test_an_infusion_says_that_it_keeps_a_day() -> None:
    """Cold, one day: common practice; cooling by US Food Code 3-501.14."""
    assert any("24 h" in one.words.replace(NBSP, " ") for one in answer_of("infusion").pairs)
    kept = answer_of("infusion", name="Kept", parts_too={"spirit": spirit()}, target_abv=25.0)
    assert not kept.pairs
    assert kept.simple is not None
    assert kept.simple.fortified is not None

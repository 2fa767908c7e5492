"""Every preparation through its own screens: formula, plan, each act at the bench, bottles with labels.

Strengths are checked against a mass balance by the tests' own OIML R 22 (`tests/calc/plain_r22.py`).
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from batches.labels.wording import blocks
from batches.models import Batch, BottlingRun, StageAct, Vessel
from batches.queries.label_facts import facts_of
from inventory.models import Lot
from tests.builders_batches import goods
from tests.calc import plain_r22
from tests.walker import Walker, begun, made_up, of_kind, pressed

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch, client: Client) -> Walker:
    return Walker(monkeypatch, client)


def bulk_of(batch: Batch) -> Lot:
    return batch.lots.filter(role="bulk").latest("pk").lot


def bottled(bench: Walker, count: int, *, settled: bool = True) -> Any:
    """Settled, decanted, filled and labelled: what the label says."""
    if settled:
        bench.later(days=3)
        bench.do("decanted")
    lot = bench.bottle(count=count)
    label = facts_of(BottlingRun.objects.get(finished=lot))
    said = " ".join(block.text for block in blocks(label))
    assert "1:" not in said, said
    return label


def test_a_maceration(bench: Walker) -> None:
    """100 g at 10 % water in 500 mL of 60 % vol: 58.87 % vol by mass balance (OIML R 22)."""
    begun(bench, "maceration", ratio_basis="wv")
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=28)
    pressed(bench, "420 mL")
    label = bottled(bench, 8)
    assert label.abv == pytest.approx(58.87, abs=0.02)
    assert label.herb_mg_per_ml == pytest.approx(1000 * 100 / 420)
    assert [one.name for one in label.ingredients] == ["Alcohol (grain spirit)", "Water", "Elecampane"]


def test_a_folk_jar_knows_its_herb_once_it_is_weighed(bench: Walker) -> None:
    """The plan forecasts nothing; 90 g weighed into 560 mL of what was made up. No ratio is printed."""
    begun(bench, "folk", bag=True)
    assert "menstruum_ml" not in bench.batch.plan["results"]
    bench.do("make_up", spirit="400 mL", water="250 mL")
    bench.do("charge", herb_g="90 g", menstruum="560 mL", vessel=Vessel.objects.get(tag="K7"))
    ml, abv = plain_r22.mixed((400, 96.0), water_g=250 * plain_r22.WATER / 1000)
    jar_ml, jar_abv = plain_r22.mixed((560, abv), water_g=9.0)
    bench.later(days=28)
    pressed(bench, "450 mL")
    label = bottled(bench, 8)
    assert label.abv == pytest.approx(jar_abv, abs=0.02)
    assert label.herb_mg_per_ml == pytest.approx(200.0)  # 90 g over 450 mL


def test_a_fresh_maceration(bench: Walker) -> None:
    """100 g at 80 % water in 200 mL of 95 % vol: 69.54 % vol by mass balance (OIML R 22)."""
    begun(bench, "fresh", moisture=0.8)
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="200 mL")
    bench.later(days=14)
    pressed(bench, "240 mL")
    label = bottled(bench, 4)
    assert label.abv == pytest.approx(69.54, abs=0.02)
    assert label.herb_state == "fresh"


def dripping(bench: Walker) -> None:
    """Moistened, packed, filled, steeped for a day (USP IX) and dripping: 9 drops a minute."""
    made_up(bench)
    bench.do("moistened", herb_g="100 g", menstruum="80 mL")
    bench.later(hours=2)
    bench.do("packed", vessel=Vessel.objects.get(tag="R1"))
    bench.do("filled", amount="300 mL")
    bench.later(hours=24)
    bench.do("tap_opened")
    bench.do("drip", drops="9", minutes="1 min")


def test_a_percolation(bench: Walker) -> None:
    """500 mL of 60 % vol in all on 100 g at 10 % water: 58.87 % vol, as in the jar (OIML R 22)."""
    begun(bench, "percolation")
    dripping(bench)
    bench.do("poured_on", amount="120 mL")
    bench.later(hours=20)
    bench.do("fraction", amount="300 mL")
    bench.do("percolated", marc="260 g")
    label = bottled(bench, 5)
    assert label.abv == pytest.approx(58.87, abs=0.02)
    assert label.herb_mg_per_ml == pytest.approx(1000 / 3)


def test_a_fluid_extract(bench: Walker) -> None:
    """1 mL for 1 g of drug (USP <1151>): 85 mL kept apart, 10 mL more, made up to 100 mL with menstruum."""
    begun(bench, "fluid_extract", ratio="4")
    dripping(bench)
    bench.later(hours=20)
    bench.do("fraction", amount="85 mL", apart="on")
    bench.later(hours=20)
    bench.do("fraction", amount="10 mL")
    bench.do("percolated", marc="250 g")
    bench.do("pour_in", lot=bench.batch.lots.get(role="menstruum").lot, amount="5 mL")
    bench.do("adjusted")
    label = bottled(bench, 2)
    assert label.herb_mg_per_ml == pytest.approx(1000, rel=1e-3)


def test_a_double_extraction(bench: Walker) -> None:
    """420 mL of the tincture and 700 of 800 mL of decoction, with its part of the ethanol that the pot is
    said to keep of the marc's: by the tests' own mass balance (OIML R 22)."""
    begun(bench, "double")
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=28)
    pressed(bench, "420 mL")
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water="1800 mL")
    bench.later(minutes=20)
    bench.do("pot_reading", celsius="78", volume="1850 mL")
    bench.later(hours=4)
    bench.do("strained", extract="800 mL")
    bench.do("leave_out")
    bench.do("combined", extract="700 mL")
    label = bottled(bench, 20)
    jar_abv = plain_r22.mixed((500, 80.0), water_g=10.0)[1]
    strained = StageAct.objects.get(act="strained").data
    pot_g = 700 / 800 * strained["left_ml"] * plain_r22.PURE / 1000
    ethanol_g = 420 * jar_abv / 100 * plain_r22.PURE / 1000 + pot_g
    whole_g = plain_r22.weight(420, jar_abv) + 700 * plain_r22.WATER / 1000
    assert label.abv == pytest.approx(plain_r22.abv_of(ethanol_g / whole_g), abs=0.02)


def test_an_infusion(bench: Walker) -> None:
    """The old official infusion, 50 g in 1000 mL. A tea is used the same day: common practice."""
    begun(bench, "infusion")
    kettle = Vessel.objects.get(tag="K8")
    bench.do("steep", herb_g="100 g", menstruum="2000 g", celsius="96", vessel=kettle)
    bench.later(minutes=15)
    bench.do("drawn")
    bench.do("pour", amount="1700 g")
    bench.do("pressed")
    tea = bench.batch.lots.get(role="tincture").lot
    assert tea.best_before == (bench.at + timedelta(hours=24)).date()  # 24 h: common practice
    bench.do("adjusted")
    label = bottled(bench, 30, settled=False)
    assert label.best_before == bench.at.date()
    assert label.abv is None
    assert "flame" not in label.storage


def simmered(bench: Walker, water: str, left: str) -> None:
    bench.do("weigh_in", herb_g="100 g", herb_lot=of_kind("herb"))
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water=water)
    bench.later(hours=2)
    bench.do("strained", extract=left)


def test_a_decoction(bench: Walker) -> None:
    """1:32 reduced to a half (after Moore): 100 g in 1600 mL, 62.5 mg/mL."""
    begun(bench, "decoction")
    simmered(bench, "3200 mL", "2600 mL")
    bench.do("reduced", extract="1600 mL")
    bench.do("adjusted")
    label = bottled(bench, 30, settled=False)
    assert label.herb_mg_per_ml == pytest.approx(62.5, rel=1e-3)
    assert label.best_before == bench.at.date()


def test_a_syrup(bench: Walker) -> None:
    """190 g of sugar to 100 mL of water: 190 / (190 + 99.82) = 65.6 % by mass; it keeps."""
    sugar = goods("sugar", "Cane sugar")
    begun(bench, "syrup", sweetener=str(sugar.pk))
    simmered(bench, "2000 mL", "1500 mL")
    bench.do("reduced", extract="1000 mL")
    bench.do("pour_in", lot=of_kind("sugar"), amount="1900 g")
    assert "By reckoning it keeps" in bench.page()
    bench.do("adjusted")
    label = bottled(bench, 40, settled=False)
    held = bench.batch.lots.filter(role="extract").latest("pk").lot
    assert 100 * held.composition["sugar"] == pytest.approx(65.6, abs=0.05)
    # a gram of sucrose takes 0.63 mL in a syrup (150 mL of USP Syrup: 127.5 g of it, 69.45 g of water)
    assert label.herb_mg_per_ml == pytest.approx(100_000 / (1000 + 1900 * 0.63), rel=2e-3)


@pytest.mark.parametrize("state", ["dried", "fresh"])
def test_a_glycerite(bench: Walker, state: str) -> None:
    """Dried: 75:25 by volume, 5 mL to a gram. Fresh: 100 %, 2 mL to a gram. Glycerol weighs 1.261 g/mL at
    20 °C (CRC Handbook) and is bought at 99.5 %."""
    if state == "dried":
        begun(bench, "glycerite")
        made_up(bench, "glycerol")
        bench.do("charge", herb_g="100 g", menstruum="500 mL")
        pure, water = 375 * 1.261 * 0.995, 125 * 0.9982 + 375 * 1.261 * 0.005 + 10
    else:
        changes = {"herb_state": "fresh", "glycerol_share": "100", "ratio": "2"}
        begun(bench, "glycerite", moisture=0.8, **changes)
        assert not bench.offers("make_up")  # poured as it is
        bench.do("charge", herb_g="100 g", menstruum="200 mL")
        pure, water = 200 * 1.261 * 0.995, 200 * 1.261 * 0.005 + 80
    bench.later(days=35)
    pressed(bench, "180 mL")
    label = bottled(bench, 3)
    assert bulk_of(bench.batch).composition["glycerol"] == pytest.approx(pure / (pure + water), abs=0.003)
    assert label.ingredients[0].name == "Vegetable glycerol"


def test_a_vinegar_extract(bench: Walker) -> None:
    """500 mL of 5 % vinegar, 25 g of acid, and the herb's 10 g of water: 4.90 g in 100 mL."""
    begun(bench, "vinegar")
    assert not bench.offers("make_up")
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=21)
    pressed(bench, "400 mL")
    label = bottled(bench, 7)
    bulk = bulk_of(bench.batch)
    acid = bulk.composition["acid"] * (bulk.density_20 or 0.0) / 10.0
    assert acid == pytest.approx(100 * 25 / 510, abs=0.01)
    assert label.ingredients[0].name == "Cider vinegar"


def test_an_oxymel(bench: Walker) -> None:
    """400 mL of the extract and 400 g of honey (18 % water, sugar at 0.63 mL/g): about 679 mL, thinner."""
    begun(bench, "oxymel")
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=21)
    pressed(bench, "400 mL")
    bench.do("pour_in", lot=of_kind("honey"), amount="400 g")
    bench.do("adjusted")
    label = bottled(bench, 12)
    assert label.herb_mg_per_ml == pytest.approx(100_000 / (400 + 400 * 0.82 * 0.63 + 72), rel=5e-3)


@pytest.mark.parametrize("warm", ["cold", "warm"])
def test_an_infused_oil(bench: Walker, warm: str) -> None:
    """Nothing but oil comes off: the herb's water joins no oil (21 CFR 114.3 is why it must be dry)."""
    begun(bench, "oil", warm=warm)
    if warm == "cold":
        bench.do("charge", herb_g="100 g", menstruum="400 mL")
        bench.later(days=28)
        bench.do("press_now")
    else:
        bench.do("steep", herb_g="100 g", menstruum="400 mL", celsius="50")
        bench.later(hours=4)
        bench.do("warmth", celsius="45")
        bench.do("drawn")
    bench.do("pour", amount="300 mL")
    bench.do("pressed")
    label = bottled(bench, 5)
    assert bulk_of(bench.batch).composition == {"oil": 1.0}
    assert label.herb_mg_per_ml == pytest.approx(1000 / 3, rel=1e-3)


def test_a_blend(bench: Walker) -> None:
    """600 g of 60 % vol and 400 g of 40 %: mass balance (OIML R 22). What was bought ready is named."""
    lots = begun(bench, "blend", bag=True, strengths=(96.0, 60.0, 40.0))
    strong, weak = (lot for lot in lots if lot.material.kind == "bulk")
    bench.do("pour_in", lot=strong, amount="600 g")
    bench.do("pour_in", lot=weak, amount="400 g")
    bench.do("adjusted")
    label = bottled(bench, 20)
    p = 0.6 * plain_r22.fraction(60.0) + 0.4 * plain_r22.fraction(40.0)
    assert label.abv == pytest.approx(plain_r22.abv_of(p), abs=0.01)
    assert [one.name for one in label.ingredients] == [str(strong.material), str(weak.material)]


def test_a_house_menstruum(bench: Walker) -> None:
    """300 mL of 95 % vol and 700 mL of water make 978.1 mL of 29.14 % vol (OIML R 22, not 28.5)."""
    spirit = begun(bench, "menstruum", bag=True, strengths=(95.0,))[0]
    bench.do("pour_in", lot=spirit, amount="300 mL")
    bench.do("pour_in", lot=of_kind("water"), amount="700 mL")
    bench.do("adjusted")
    bench.batch.refresh_from_db()
    made = bulk_of(bench.batch)
    assert bench.batch.state == "done"
    assert made.abv == pytest.approx(29.14, abs=0.01)

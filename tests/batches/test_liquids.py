"""Any liquid as menstruum: what stands in the jar, what comes off the press, what the label says."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from batches.actions import charge, jar_notes, jar_pours, press, settle
from batches.actions.undo import undo_act
from batches.models import Batch, StageAct
from batches.queries.jar import jar_of
from batches.queries.label_facts import ingredients
from batches.queries.liquids import nature_of
from inventory.models import Lot, Material
from tests import builders_jar as jar
from tests.builders import NOON, a_workshop, an_owner
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
STEPS = ("prepare", "macerate", "press", "settle", "bottle")


@pytest.fixture(autouse=True)
def workshop(db: None) -> None:
    a_workshop()


def charged(menstruum: Lot, poured: str, herb: Material, grams: str, moisture: float) -> Batch:
    batch = jar.a_batch(*STEPS, herb=herb, title=str(herb))
    charge.charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(jar.a_lot(herb, moisture=moisture), Decimal(grams))],
        menstruum_lot=menstruum,
        menstruum=jar.typed(poured),
        vessel=jar.a_vessel(f"V{batch.number}"),
        by=an_owner(),
        at=NOON,
    )
    return batch


def pressed(batch: Batch, *pours: str) -> Lot:
    owner = an_owner()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=owner, at=NOON, reason="a test")
    stage = batch.stages.get(kind="press")
    for amount in pours:
        press.pour(stage=stage, amount=jar.typed(amount), by=owner, at=NOON)
    press.pressed(stage=stage, by=owner, at=NOON)
    return Lot.objects.get(code=last(batch, "pressed").data["tincture"])


def last(batch: Batch, act: str) -> StageAct:
    return StageAct.objects.filter(stage__batch=batch, act=act).order_by("-pk")[0]


def a_liquid(name: str, kind: str, amount: str = "2000", **facts: Any) -> Lot:
    return jar.a_lot(jar.a_material(name, kind), amount=amount, **facts)


def test_vinegar_on_fresh_herb_falls_below_four_per_cent() -> None:
    """300 mL of 5 % vinegar on 100 g of fresh herb at 85 % moisture: 3.90 % (by volume: 15 g in 385 mL)."""
    vinegar = a_liquid("Cider vinegar", Material.Kind.VINEGAR)
    batch = charged(vinegar, "300 mL", jar.a_material("Thyme", Material.Kind.HERB), "100", 0.85)
    held = jar_of(batch)
    assert held is not None and held.made_of is not None
    assert held.made_of.acid_percent == approx(3.90, abs=0.01)
    assert (held.abv, held.liquid_ml) == (0.0, approx(385, abs=1))
    lot = pressed(batch, "200 mL", "120 mL")
    assert nature_of(lot).made_of.acid_percent == approx(3.90, abs=0.01)  # type: ignore[union-attr]
    assert lot.density_20 == approx(held.made_of.density)
    undo_act(act=last(batch, "pressed"), by=an_owner(), at=NOON, reason="a test")
    assert jar_of(batch) is not None


def test_glycerol_is_weighed_by_its_own_density() -> None:
    """200 mL of glycerol (1.261 g/mL) on 100 g of fresh herb at 85 %: 74.8 % w/w; 99.5 % glycerol: 74.4."""
    glycerol = a_liquid("Glycerol", Material.Kind.GLYCEROL)
    batch = charged(glycerol, "200 mL", jar.a_material("Lemon balm", Material.Kind.HERB), "100", 0.85)
    charged_with = last(batch, "charge").data
    assert charged_with["menstruum_g"] == approx(200 * 1.26, abs=0.5)
    held = jar_of(batch)
    assert held is not None and held.made_of is not None
    assert 100 * held.made_of.share("glycerol") == approx(74.4, abs=0.1)
    lot = pressed(batch, "230 mL")
    assert lot.composition["glycerol"] == approx(0.744, abs=0.001) and lot.abv == 0.0


def test_oil_does_not_take_the_herbs_water() -> None:
    oil = a_liquid("Sunflower oil", Material.Kind.OIL)
    batch = charged(oil, "500 mL", jar.a_material("Calendula", Material.Kind.HERB), "100", 0.09)
    held = jar_of(batch)
    assert held is not None and held.made_of is not None
    assert held.made_of.shares() == {"oil": 1.0}
    lot = pressed(batch, "380 mL")
    settle.decanted(stage=batch.stages.get(kind="settle"), by=an_owner(), at=NOON)
    bulk = Lot.objects.get(code=last(batch, "decanted").data["lot"])
    assert bulk.composition == lot.composition == {"oil": 1.0}
    assert [one.name for one in ingredients(bulk)] == ["Sunflower oil", "Calendula"]


def test_a_tincture_poured_on_a_new_herb_carries_strength_and_both_herbs() -> None:
    """Ingredients and strength follow what was poured: mass balance by OIML R 22."""
    first = jar.a_bulk_batch()
    bulk = Lot.objects.get(code=last(first, "decanted").data["lot"])
    from inventory.lotbook import decide
    from inventory.models import Decision

    decide(lot=bulk, status=Decision.Status.RELEASED, by=an_owner(), at=NOON, reason="")
    reishi = jar.a_material("Reishi", Material.Kind.FUNGUS)
    batch = charged(bulk, "500 mL", reishi, "100", 0.1)
    held = jar_of(batch)
    assert held is not None and held.abv is not None and bulk.abv is not None
    assert held.made_of is None, "still spirit and water"
    assert bulk.abv - 1.0 < held.abv < bulk.abv
    lot = pressed(batch, "380 mL")
    names = {one.name for one in ingredients(lot)}
    assert {"Turkey tail", "Reishi"} <= names


def test_more_of_another_liquid_and_back_again() -> None:
    """Spirit into a glycerite: strength follows; undone, it is gone. A sample takes both alike."""
    batch = charged(
        a_liquid("Glycerol", Material.Kind.GLYCEROL),
        "500 mL",
        jar.a_material("Lemon balm", Material.Kind.HERB),
        "100",
        0.1,
    )
    stage, owner = batch.stages.get(kind="macerate"), an_owner()
    jar_pours.top_up(stage=stage, lot=jar.a_spirit(), amount=jar.typed("100 mL"), by=owner, at=NOON)
    held = jar_of(batch)
    assert held is not None and held.abv == approx(96 * 100 / held.liquid_ml, rel=0.01)
    abv = held.abv
    jar_pours.take_out(stage=stage, what="sample", amount=jar.typed("20 mL"), by=owner, at=NOON)
    after = jar_of(batch)
    assert after is not None and after.abv == approx(abv)
    assert after.liquid_ml == approx(held.liquid_ml - 20)
    undo_act(act=last(batch, "sample"), by=owner, at=NOON, reason="a test")
    undo_act(act=last(batch, "top_up"), by=owner, at=NOON, reason="a test")
    plain = jar_of(batch)
    assert plain is not None and plain.abv == 0.0
    lot = Lot.objects.get(code=last(batch, "charge").data["lot"])
    assert "ethanol" not in lot.composition and lot.composition["glycerol"] > 0.9


def test_a_spirit_jar_that_gets_vinegar_knows_both() -> None:
    batch = charged(jar.a_spirit(40.0), "300 mL", jar.a_material("Thyme", Material.Kind.HERB), "50", 0.1)
    stage = batch.stages.get(kind="macerate")
    vinegar = a_liquid("Cider vinegar", Material.Kind.VINEGAR)
    jar_pours.top_up(stage=stage, lot=vinegar, amount=jar.typed("300 mL"), by=an_owner(), at=NOON)
    held = jar_of(batch)
    assert held is not None and held.made_of is not None and held.abv is not None
    # 300 mL of 5 % vinegar hold 15 g of acid; 300 mL of 40 % and 5 g of herb water bring 120 mL of ethanol
    assert held.made_of.of_which("acid") == approx(15.0, abs=0.01)
    assert 19 < held.abv < 20.5


def test_an_unknown_liquid_is_refused_in_words() -> None:
    odd = a_liquid("Something", Material.Kind.BULK)
    with pytest.raises(Refused, match="strength of lot .* is not known"):
        charged(odd, "300 mL", jar.a_material("Thyme", Material.Kind.HERB), "50", 0.1)

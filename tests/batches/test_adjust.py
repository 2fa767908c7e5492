"""Adjusting: what is poured in, what it comes to, whether it would keep, and where it goes."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from pytest import approx

from batches.actions import charge, jar_notes, press
from batches.actions.adjust import adjusted, pour_in
from batches.actions.undo import undo_act
from batches.models import Batch, BatchLot, StageAct
from batches.queries import stock
from batches.queries.adjusting import standing_liquid
from batches.queries.balance import balances
from batches.queries.batch import batch_by_number
from batches.queries.label_facts import ingredients
from inventory.lotbook import decide, tap_water
from inventory.models import Decision, Lot, Material
from inventory.models.postings import Stock
from tests import builders_jar as jar
from tests.builders import NOON, a_workshop, an_owner
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop(db: None) -> None:
    a_workshop()


def poured(batch: Batch, lot: Lot, amount: str) -> StageAct:
    stage = batch.stages.get(kind="adjust")
    return pour_in(stage=stage, lot=lot, amount=jar.typed(amount), by=an_owner(), at=NOON)


def a_liquid(name: str, kind: str, amount: str = "5000", **facts: float) -> Lot:
    return jar.a_lot(jar.a_material(name, kind), amount=amount, **facts)


def water() -> Lot:
    return tap_water(by=an_owner(), at=NOON)[0]


def test_usp_syrup_keeps_by_its_sugar() -> None:
    """85 g of sucrose to 100 mL, 64.7 % w/w, SG 1.313 (USP 28 Syrup): 850 g and 463 g of water, a litre."""
    batch = jar.a_batch("adjust", "bottle", title="syrup")
    poured(batch, water(), "463 g")
    poured(batch, a_liquid("Sugar", Material.Kind.SUGAR), "850 g")
    now = standing_liquid(batch)
    assert now is not None and now.ml == approx(1000, rel=0.005)
    assert now.sugar_percent == approx(64.7, abs=0.1)
    assert now.verdict is not None and now.verdict.keeping == "keeps"
    assert now.held.lot.density_20 == approx(1313, abs=5)


def test_what_came_out_is_one_liquid() -> None:
    """The account of the step shows the volume that stands there, not a sum of volumes on the way."""
    batch = jar.a_batch("adjust", "bottle", title="syrup")
    poured(batch, water(), "463 g")
    poured(batch, a_liquid("Sugar", Material.Kind.SUGAR), "850 g")
    (step,) = balances(batch, batch.stages.filter(kind="adjust"))
    assert (step.out_g, step.out_ml) == (approx(1313.0), approx(1000, rel=0.005))


def test_half_honey_does_not_keep_on_the_shelf() -> None:
    """500 mL of decoction and 500 g of honey are about 59 % water: not shelf stable (common practice)."""
    batch = jar.a_batch("adjust", "bottle", title="syrup")
    poured(batch, water(), "500 mL")
    poured(batch, a_liquid("Honey", Material.Kind.HONEY), "500 g")
    now = standing_liquid(batch)
    assert now is not None and now.made_of is not None and now.verdict is not None
    assert 100 * now.made_of.share("water") == approx(59.0, abs=0.2)
    assert now.verdict.keeping != "keeps"


def test_house_menstruum_becomes_a_bulk_lot_for_other_jars() -> None:
    """1000 mL of 96 % vol and 1470.5 mL of water are 2400 mL of 40 % vol (OIML R 22)."""
    batch = jar.a_batch("adjust", title="menstruum of 40 %")
    poured(batch, jar.a_spirit(), "1000 mL")
    poured(batch, water(), "1470.5 mL")
    done = adjusted(stage=batch.stages.get(kind="adjust"), by=an_owner(), at=NOON)
    bulk = Lot.objects.select_related("material").get(code=done.data["lot"])
    assert bulk.abv == approx(40.0, abs=0.01) and bulk.material.kind == Material.Kind.BULK
    there = Stock.objects.get(lot=bulk, on_hand__gt=0)
    assert 1000 * float(there.on_hand) / (bulk.density_20 or 1) == approx(2400, abs=1)
    batch.refresh_from_db()
    assert batch.state == Batch.State.DONE
    decide(lot=bulk, status=Decision.Status.RELEASED, by=an_owner(), at=NOON, reason="")
    assert bulk.pk in [offer.lot.pk for offer in stock.offers(Material.Kind.BULK)]


def test_finished_liquids_blend_and_carry_their_herbs() -> None:
    """300 mL of 60 % and 420 mL of water-like extract are 714.9 mL at 25.18 % vol (OIML R 22)."""
    batch = jar.a_batch("adjust", "settle", "bottle", title="blend")
    poured(batch, jar.a_spirit(60.0), "300 mL")
    poured(batch, water(), "420 mL")
    now = standing_liquid(batch)
    assert now is not None and (now.ml, now.abv) == (approx(714.9, abs=0.1), approx(25.18, abs=0.01))
    assert {one.name for one in ingredients(now.held.lot)} == {"Alcohol (spirit)", "Water"}


def test_a_pressed_tincture_is_let_down_and_undone() -> None:
    batch = jar.a_batch("prepare", "macerate", "press", "adjust", "settle", "bottle")
    owner = an_owner()
    charge.charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(jar.a_lot(moisture=0.09), jar.typed("180 g").base)],
        menstruum_lot=jar.a_spirit(80.0),
        menstruum=jar.typed("900 mL"),
        vessel=jar.a_vessel(),
        by=owner,
        at=NOON,
    )
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=owner, at=NOON, reason="a test")
    press.pour(stage=batch.stages.get(kind="press"), amount=jar.typed("760 mL"), by=owner, at=NOON)
    press.pressed(stage=batch.stages.get(kind="press"), by=owner, at=NOON)
    before = standing_liquid(batch)
    assert before is not None and before.abv == approx(78.69, abs=0.01)
    act = poured(batch, water(), "1407 mL")
    now = standing_liquid(batch)
    assert now is not None and now.abv == approx(28.0, abs=0.02), "the worked jar, by OIML R 22"
    undo_act(act=act, by=owner, at=NOON, reason="a test")
    again = standing_liquid(batch)
    assert again is not None and again.abv == approx(78.69, abs=0.01)


def test_it_refuses_in_words() -> None:
    batch = jar.a_batch("adjust", "bottle", title="syrup")
    with pytest.raises(Refused, match="no liquid yet"):
        adjusted(stage=batch.stages.get(kind="adjust"), by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="goes by weight"):
        poured(batch, a_liquid("Sugar", Material.Kind.SUGAR), "100 mL")
    with pytest.raises(Refused, match="nobody knows what it is made of"):
        poured(batch, a_liquid("Something", Material.Kind.BULK), "100 mL")
    poured(batch, water(), "100 mL")
    now = standing_liquid(batch)
    assert now is not None
    with pytest.raises(Refused, match="the liquid itself"):
        poured(batch, now.held.lot, "10 mL")


def test_the_page_takes_a_pour_and_says_what_stands_there(client: Client) -> None:
    batch = jar.a_batch("adjust", "bottle", title="oxymel")
    vinegar = a_liquid("Cider vinegar", Material.Kind.VINEGAR)
    client.force_login(an_owner())
    url = reverse("batches:act", args=[batch.number, 1, "pour_in"])
    typed = {"once_key": "a" * 32, "lot": vinegar.pk, "amount": "500 mL"}
    assert client.post(url, typed | {"amount": "five"}).status_code == 409
    assert client.post(url, typed).status_code == 302
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "stand there" in page and "Acetic acid" in page
    done = client.post(reverse("batches:act", args=[batch.number, 1, "adjusted"]), {"once_key": "b" * 32})
    assert done.status_code == 302
    found = batch_by_number(batch.number)
    assert found is not None and found.stages.get(kind="bottle").state == "open"
    assert BatchLot.objects.filter(batch=batch, role=BatchLot.Role.COMBINED).count() == 1

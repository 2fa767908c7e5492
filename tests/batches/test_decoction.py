"""A decoction of herb weighed into the pot, by itself or beside a jar, on to a syrup that keeps."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from pytest import approx

from batches.actions import pot, pot_strain, settle
from batches.actions.adjust import adjusted, pour_in
from batches.actions.pot_herb import weigh_in
from batches.actions.undo import undo_act
from batches.models import Batch, Stage, StageAct
from batches.queries.adjusting import standing_liquid
from batches.queries.bottling import bulk_offers, plan_of
from batches.queries.pot import pot_of
from batches.queries.pot_start import start_water_needs
from inventory.models import Lot, Material
from tests import builders_jar as jar
from tests.builders import NOON, a_workshop, an_owner
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def workshop(db: None) -> None:
    a_workshop()


def elder() -> Material:
    return jar.a_material("Elderberry", Material.Kind.HERB, moisture=0.1)


def a_kettle(tag: str = "P1") -> object:
    return jar.a_vessel(tag, 9000, 900, form="pot", diameter_cm=24.0)


def weighed(batch: Batch, grams: str = "100 g", lot: Lot | None = None) -> StageAct:
    herbs = [(lot or jar.a_lot(elder(), moisture=0.1), jar.typed(grams).base)]
    return weigh_in(stage=batch.stages.get(kind="decoct"), herbs=herbs, by=an_owner(), at=NOON)


def decocted() -> Batch:
    batch = jar.a_batch("decoct", "reduce", "adjust", "bottle", herb=elder(), title="elderberry syrup")
    stage, owner = batch.stages.get(kind="decoct"), an_owner()
    weighed(batch)
    pot.set_pot(stage=stage, vessel=a_kettle(), water=jar.typed("2000 mL"), by=owner, at=NOON)  # type: ignore[arg-type]
    later = NOON + 3 * HOUR
    pot_strain.strained(
        stage=stage, extract=jar.typed("1000 mL"), spent=jar.typed("200 g"), by=owner, at=later
    )
    settle.leave_out(stage=batch.stages.get(kind="reduce"), by=owner, at=later)
    return batch


def test_the_pot_takes_the_herb_that_was_weighed_in() -> None:
    batch = jar.a_batch("decoct", "reduce", "adjust", "bottle", herb=elder())
    stage, owner = batch.stages.get(kind="decoct"), an_owner()
    with pytest.raises(Refused, match="Weigh the herb in"):
        pot.set_pot(stage=stage, vessel=a_kettle(), water=jar.typed("2000 mL"), by=owner, at=NOON)  # type: ignore[arg-type]
    act = weighed(batch)
    assert start_water_needs(batch) == (approx(90.0), 0.0), "100 g at 10 % are 90 g dry, and bring no liquid"
    with pytest.raises(Refused, match="already"):
        weighed(batch)
    undo_act(act=act, by=owner, at=NOON, reason="a test")
    weighed(batch, "120 g")
    assert start_water_needs(batch)[0] == approx(108.0)


def test_a_decoction_becomes_a_syrup_that_keeps() -> None:
    """1000 mL of decoction with 1840 g of sugar are 64.8 % w/w, above USP Syrup's 64.7 (USP 28)."""
    batch = decocted()
    stage, owner = batch.stages.get(kind="adjust"), an_owner()
    sugar = jar.a_lot(jar.a_material("Sugar", Material.Kind.SUGAR), amount="3000")
    before = standing_liquid(batch)
    assert before is not None and before.ml == approx(1000, abs=1) and before.verdict is None
    pour_in(stage=stage, lot=sugar, amount=jar.typed("1840 g"), by=owner, at=NOON + 4 * HOUR)
    now = standing_liquid(batch)
    assert now is not None and now.verdict is not None
    assert now.sugar_percent == approx(64.8, abs=0.1) and now.verdict.keeping == "keeps"
    adjusted(stage=stage, by=owner, at=NOON + 4 * HOUR)
    (offer,) = bulk_offers(batch)
    assert offer.lot.pk == now.held.lot.pk
    plan = plan_of(offer.lot, offer.on_hand, fill_ml=100, loss=0.0)
    assert plan is not None
    assert plan.bottles == int(float(offer.on_hand) / (offer.lot.density_20 or 1) * 1000 / 100)
    assert plan.each_g == approx(131.3, abs=0.5), "SG 1.313: USP 28 Syrup"


def test_a_separate_portion_is_simmered_beside_the_jar() -> None:
    """The double extraction of two portions: the pot's herb brings no ethanol, the marc stays apart."""
    batch, owner = jar.a_pressed_batch(), an_owner()
    later = NOON + timedelta(days=28)
    lot = jar.a_lot(moisture=0.09)
    stage = batch.stages.get(kind="decoct")
    weigh_in(stage=stage, herbs=[(lot, jar.typed("180 g").base)], by=owner, at=later)
    pot.set_pot(stage=stage, vessel=a_kettle(), water=jar.typed("3000 mL"), by=owner, at=later)  # type: ignore[arg-type]
    at = later + 4 * HOUR
    assert pot_of(stage, at) is not None
    act = pot_strain.strained(stage=stage, extract=jar.typed("1407 mL"), by=owner, at=at)
    assert "left_ml" not in act.data
    assert Stage.objects.get(pk=stage.pk).state == "done"


def test_the_page_asks_for_the_herb_first(client: Client) -> None:
    batch = jar.a_batch("decoct", "reduce", "adjust", "bottle", herb=elder())
    lot = jar.a_lot(elder(), moisture=0.1)
    client.force_login(an_owner())
    page = reverse("batches:batch", args=[batch.number])
    assert "Weigh the herb in for the pot." in client.get(page).content.decode()
    url = reverse("batches:act", args=[batch.number, 1, "weigh_in"])
    answer = client.post(url, {"once_key": "a" * 32, "herb_lot": lot.pk, "herb_g": "100 g"})
    assert answer.status_code == 302
    assert "of herb in water." in client.get(page).content.decode()

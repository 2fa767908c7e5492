"""How sure a strength stays as more is poured on a column, into a liquid, and out of the bottle.

The rule is the GUM's (JCGM 100:2008): 5.1.2 for errors of their own, 5.2.2 note 1 for one error met again.
"""

from __future__ import annotations

from datetime import timedelta
from math import hypot, sqrt

import pytest
from pytest import approx

from batches.actions import percolate, percolate_off
from batches.actions.adjust import adjusted, pour_in
from batches.actions.undo import undo_act
from batches.models import Batch, StageAct
from batches.queries.batch import lot_in_role
from batches.queries.label_facts import _high
from batches.queries.percolation import Column, column_of
from inventory.lotbook import tap_water
from inventory.models import Lot
from tests import builders_jar as jar
from tests import builders_percolate as column
from tests.builders import NOON, a_workshop, an_owner
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOTHING_ELSE = {
    "scale_step": 0.0, "fine_step": 0.0, "cylinder": 0.0, "thermometer": 0.0, "moisture": 0.0,
    "moisture_fresh": 0.0, "moisture_measured": 0.0,
}  # fmt: skip


@pytest.fixture(autouse=True)
def workshop(db: None) -> None:
    a_workshop()


def only_strengths() -> None:
    """Everything else exact, so that a sum can be done by hand."""
    Workshop.objects.update(instruments=NOTHING_ELSE)


def it(batch: Batch) -> Column:
    found = column_of(batch)
    assert found is not None and found.sure is not None
    return found


def lot_of(batch: Batch, role: str) -> Lot:
    held = lot_in_role(batch, role)
    assert held is not None
    return held.lot


def filled(batch: Batch, lot: Lot, amount: str = "500 mL") -> StageAct:
    return percolate.filled(
        stage=column.step(batch), lot=lot, amount=jar.typed(amount), by=an_owner(), at=NOON + DAY
    )


def menstruum_of(batch: Batch) -> Lot:
    return Lot.objects.get(code=it(batch).began.data["menstruum_lot"])


def test_the_same_menstruum_poured_on_again_brings_the_same_error() -> None:
    """200 and 500 mL of one lot, 18.03 mL of the herb's water (200 g at 9 %, 998.2 kg/m3): the errors add up
    to 700 / 718 of the lot's own."""
    only_strengths()
    batch = column.a_packed_batch()
    filled(batch, menstruum_of(batch))
    own = 0.3 / sqrt(3)
    assert it(batch).u == approx(own * 700 / (700 + 18.03), rel=0.02)
    assert lot_of(batch, "percolation").abv_u == approx(it(batch).u)


def test_another_lot_has_an_error_of_its_own() -> None:
    only_strengths()
    batch = column.a_packed_batch()
    filled(batch, jar.a_spirit(60.0, 3000))
    own = 0.3 / sqrt(3)
    assert it(batch).u == approx(own * hypot(200, 500) / (700 + 18.03), rel=0.02)


def test_each_pour_adds_what_the_cylinder_may_miss_and_its_undoing_takes_it_away() -> None:
    batch = column.a_packed_batch()
    before = it(batch).sure
    act = filled(batch, menstruum_of(batch))
    after = it(batch).sure
    assert before and after and after[0].u > before[0].u
    assert "added" in after[0].shares and "added" not in before[0].shares
    undo_act(act=act, reason="wrong lot", by=an_owner(), at=NOON + DAY)
    again = it(batch).sure
    assert again and (again[0].u, again[1].u) == (before[0].u, before[1].u)


def test_a_percolate_is_as_sure_as_the_column_it_dripped_from() -> None:
    batch = column.a_dripping_batch()
    later = NOON + 2 * DAY
    sure = it(batch).u
    percolate_off.fraction(stage=column.step(batch), amount=jar.typed("170 mL"), by=an_owner(), at=later)
    assert lot_of(batch, "tincture").abv_u == approx(sure)
    percolate_off.fraction(stage=column.step(batch), amount=jar.typed("100 mL"), by=an_owner(), at=later)
    assert lot_of(batch, "tincture").abv_u == approx(sure)
    act = percolate_off.percolated(stage=column.step(batch), by=an_owner(), at=later)
    assert act.data["u"] == approx(sure)


def poured(batch: Batch, lot: Lot, amount: str) -> StageAct:
    stage = batch.stages.get(kind="adjust")
    return pour_in(stage=stage, lot=lot, amount=jar.typed(amount), by=an_owner(), at=NOON)


def test_a_liquid_let_down_with_water_is_surer_by_as_much() -> None:
    """What the strength may miss is thinned as the strength is, but for what they shrink by, which changes
    with it too (about 4 % of it here, OIML R 22)."""
    only_strengths()
    batch = jar.a_batch("adjust", "bottle", title="menstruum")
    spirit = jar.a_spirit(80.0)
    poured(batch, spirit, "1000 g")
    first = lot_of(batch, "combined")
    assert first.abv_u == approx(0.3 / sqrt(3))
    poured(batch, tap_water(by=an_owner(), at=NOON)[0], "1000 g")
    let_down = lot_of(batch, "combined")
    assert let_down.abv is not None and let_down.abv_u is not None
    assert let_down.abv_u / (0.3 / sqrt(3)) == approx(let_down.abv / 80.0, rel=0.06)
    adjusted(stage=batch.stages.get(kind="adjust"), by=an_owner(), at=NOON)
    assert Lot.objects.get(pk=lot_in_role(batch, "combined").lot.pk).abv_u == let_down.abv_u  # type: ignore[union-attr]


def test_the_scale_counts_in_what_is_poured_in() -> None:
    """OIML R 76-1: a scale in steps of 50 g is less sure than one of 1 g."""
    found = []
    for step in (1.0, 50.0):
        Workshop.objects.update(instruments={"scale_step": step, "spirit": 0.01})
        batch = jar.a_batch("adjust", "bottle", title="menstruum")
        poured(batch, jar.a_spirit(80.0), "1000 g")
        poured(batch, tap_water(by=an_owner(), at=NOON)[0], "1000 g")
        found.append(lot_of(batch, "combined").abv_u or 0.0)
    assert found[1] > 5 * found[0] > 0


def test_what_holds_no_spirit_has_no_strength_to_be_unsure_of() -> None:
    batch = jar.a_batch("adjust", "bottle", title="syrup")
    poured(batch, tap_water(by=an_owner(), at=NOON)[0], "463 g")
    poured(batch, jar.a_lot(jar.a_material("Sugar", "sugar"), amount="5000"), "850 g")
    assert not lot_of(batch, "combined").abv_u


@pytest.mark.parametrize(("facts", "u"), [({"abv_u": 0.4}, 0.4), ({}, 0.3 / sqrt(3))])
def test_the_ethanol_of_a_dose_is_told_at_the_high_end(facts: dict[str, float], u: float) -> None:
    """GUM 6.3.3: twice the standard uncertainty above; where none is on record, that of a stated strength."""
    bulk = jar.a_lot(jar.a_material("Liquid", "bulk"), amount="2000", abv=28.0, **facts)
    assert _high(bulk) == approx(28.0 + 2 * u)

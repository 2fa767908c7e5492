"""Where a batch's mass, volume and alcohol went; what nobody can name stands apart."""

from __future__ import annotations

from datetime import timedelta

import pytest

from batches.actions import jar_notes, press, undo
from batches.models import Batch
from batches.queries.balance import Balance, balances, whole
from batches.queries.beside import plan_beside
from tests import builders_batches as planned
from tests import builders_jar as jars
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import typed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def steps(batch: Batch) -> dict[str, Balance]:
    return {step.title: step for step in balances(batch, batch.stages.all())}


def test_weighing_in_accounts_for_everything() -> None:
    """180 g of herb and 900 mL of 80 % vol: 720 mL of pure alcohol; 750 mL of 96 % is 720 mL too."""
    found = steps(jars.a_charged_batch())["Prepare"]
    assert found.unexplained_g == 0 and found.losses == []
    assert found.into_g == pytest.approx(found.out_g)
    assert found.into_pure_ml == pytest.approx(720, abs=1.5)
    assert found.pure_rest_ml == pytest.approx(0, abs=1)
    assert found.into_ml is None  # the herb has no density


def test_twenty_grams_that_nobody_logged_stand_as_unexplained() -> None:
    """The wet marc weighs 20 g less than what the pours leave: named, and not a loss."""
    batch, owner = jars.a_charged_batch(), an_owner()
    later = NOON + timedelta(days=28)
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=owner, at=later)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed("760 mL"), by=owner, at=later)
    full_g = steps(batch)["Prepare"].out_g
    tincture_g = 760 * 0.86277  # 78.7 % vol at 20 °C is 862.8 kg/m³ (OIML R 22)
    weighed = full_g - tincture_g - 20
    press.pressed(stage=step, marc=typed(f"{weighed:.1f} g"), by=owner, at=later)
    found = steps(batch)["Press"]
    assert found.unexplained_g == pytest.approx(20, abs=0.5)
    assert found.losses == []
    assert found.accounted < 1
    assert whole(list(steps(batch).values())).unexplained_g == pytest.approx(20, abs=0.5)


def test_pouring_together_shrinks_and_loses_nothing() -> None:
    """760 mL and 1,407 mL make 2,136 mL: some 31 mL go by mixing (OIML R 22)."""
    found = steps(jars.a_bulk_batch())["Combine"]
    assert found.into_g == pytest.approx(found.out_g)
    assert found.shrunk_ml == pytest.approx(31, abs=1.5)
    assert found.unexplained_g == 0


def test_the_pot_s_losses_carry_their_names_and_the_marc_s_alcohol() -> None:
    found = steps(jars.a_strained_batch())["Simmer in water"]
    assert len(found.losses) == 1 and found.losses[0].pure_ml + found.out_pure_ml == pytest.approx(122, abs=1)
    assert found.into_g == pytest.approx(found.out_g + sum(loss.g for loss in found.losses))
    assert found.into_pure_ml == pytest.approx(122, abs=1)


def test_what_was_undone_counts_no_more() -> None:
    batch = jars.a_pressed_batch()
    assert "Press" in steps(batch)
    act = batch.stages.get(kind="press").acts.get(act="pressed")
    undo.undo_act(act=act, by=an_owner(), at=NOON + timedelta(days=29))
    assert "Press" not in steps(batch)


def test_the_plan_stays_beside_what_was_measured() -> None:
    batch = planned.a_planned_batch()
    lines = {line.words: line for line in plan_beside(batch)}
    assert lines["Herb"].planned == 180 and lines["Herb"].measured is None
    assert lines["Menstruum"].planned == pytest.approx(900)
    assert lines["Tincture pressed"].planned == pytest.approx(760, abs=1)
    low, high = lines["Tincture pressed"].low, lines["Tincture pressed"].high
    assert low is not None and high is not None and low <= 760 <= high


def test_what_went_otherwise_than_planned_is_said() -> None:
    run = {line.words: line for line in plan_beside(jars.a_pressed_batch(plan={"herb_g": 150.0}))}
    assert (run["Herb"].planned, run["Herb"].measured) == (150.0, 180.0)
    assert run["Herb"].off
    assert run["Tincture pressed"].measured == pytest.approx(760, abs=0.1)
    assert run["Tincture pressed"].planned is None and not run["Tincture pressed"].off

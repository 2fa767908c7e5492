"""The jar from the weighing-in to the press.

Figures: mass balance with the OIML R 22 density formula; the worked jar is 180 g at 9 % moisture with
900 mL of 80 % vol, 760 mL pressed off.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from batches.actions import charge, jar_notes, jar_pours, jar_split, make_up, press
from batches.actions.undo import undo_act
from batches.bell import key_of
from batches.models import Batch, Occupancy, Stage
from batches.queries.batch import lot_in_role
from batches.queries.jar import jar_of
from inventory.models import Decision
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_batch, a_charged_batch, a_lot, a_material, a_spirit, a_vessel, typed
from workshop.errors import Refused
from workshop.reminders.queries import due_now, next_for
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop()


def stage_of(batch: Batch, kind: str) -> Stage:
    return batch.stages.get(kind=kind)


def test_750_ml_of_96_and_168_ml_of_water_make_900_ml_of_80():
    batch = a_batch()
    act = make_up.make_up(
        stage=stage_of(batch, "prepare"),
        spirit_lot=a_spirit(),
        spirit=typed("750 mL"),
        water=typed("168 mL"),
        by=a_maker(),
        at=NOON,
    )
    assert act.data["ml"] == pytest.approx(900, abs=1.0)
    assert act.data["abv"] == pytest.approx(80.0, abs=0.05)


def test_the_jar_stands_below_its_menstruum_by_the_herbs_own_water():
    jar = jar_of(a_charged_batch())
    assert jar is not None
    assert jar.abv == pytest.approx(78.69, abs=0.05)
    assert jar.liquid_ml == pytest.approx(915.0, abs=0.5)
    assert jar.u is not None and 0.1 < jar.u < 1.0


def test_charging_opens_the_maceration_and_takes_the_vessel():
    batch = a_charged_batch()
    batch.refresh_from_db()
    assert stage_of(batch, "prepare").state == Stage.State.DONE
    assert stage_of(batch, "macerate").state == Stage.State.OPEN
    assert batch.state == Batch.State.RUNNING
    assert Occupancy.objects.get().vessel.tag == "K7"


def test_a_vessel_in_use_is_refused_by_name():
    a_charged_batch()
    other, herb = a_batch(title="reishi"), a_lot(amount="300", moisture=0.09)
    with pytest.raises(Refused, match="Jar K7 holds Batch 1, turkey tail"):
        charge.charge(
            stage=stage_of(other, "prepare"),
            herbs=[(herb, Decimal(100))],
            menstruum_lot=a_spirit(),
            menstruum=typed("300 mL"),
            vessel=Occupancy.objects.get().vessel,
            by=a_maker(),
            at=NOON + DAY,
        )


def test_a_small_vessel_is_refused_with_what_is_wanted():
    batch, herb = a_batch(), a_lot(moisture=0.09)
    with pytest.raises(Refused, match="holds 500.mL; herb and menstruum"):
        charge.charge(
            stage=stage_of(batch, "prepare"),
            herbs=[(herb, Decimal(180))],
            menstruum_lot=a_spirit(),
            menstruum=typed("900 mL"),
            vessel=a_vessel("S1", 500),
            by=a_maker(),
            at=NOON,
        )
    assert stage_of(batch, "prepare").state == Stage.State.OPEN


def test_an_unreleased_herb_is_refused_and_nothing_is_half_written():
    batch, herb = a_batch(), a_lot(status=Decision.Status.QUARANTINE)
    with pytest.raises(Refused, match="in quarantine"):
        charge.charge(
            stage=stage_of(batch, "prepare"),
            herbs=[(herb, Decimal(180))],
            menstruum_lot=a_spirit(),
            menstruum=typed("900 mL"),
            vessel=a_vessel(),
            by=a_maker(),
            at=NOON,
        )
    assert stage_of(batch, "prepare").state == Stage.State.OPEN
    assert not Occupancy.objects.exists()


def test_a_stage_out_of_order_is_refused():
    batch = a_batch()
    with pytest.raises(Refused, match="“Press” has not begun"):
        press.pour(stage=stage_of(batch, "press"), amount=typed("100 mL"), by=a_maker(), at=NOON)


def test_pressing_early_wants_a_reason():
    batch = a_charged_batch()
    stage = stage_of(batch, "macerate")
    with pytest.raises(Refused, match="It is day 3; the press window opens on day 14"):
        jar_notes.press_now(stage=stage, by=a_maker(), at=NOON + 3 * DAY)
    jar_notes.press_now(stage=stage, reason="needed for the market", by=a_maker(), at=NOON + 3 * DAY)
    assert stage_of(batch, "press").state == Stage.State.OPEN


def test_760_ml_pressed_leaves_155_ml_and_122_ml_of_ethanol_in_the_marc():
    batch = a_charged_batch()
    at = NOON + 28 * DAY
    jar_notes.press_now(stage=stage_of(batch, "macerate"), by=a_maker(), at=at)
    step = stage_of(batch, "press")
    press.pour(stage=step, amount=typed("700 mL"), by=a_maker(), at=at)
    press.pour(stage=step, amount=typed("60 mL"), by=a_maker(), at=at)
    act = press.pressed(stage=step, by=a_maker(), at=at)
    assert act.data["retained_ml"] == pytest.approx(155.0, abs=0.5)
    assert act.data["marc_ethanol_ml"] == pytest.approx(122.0, abs=0.5)
    tincture = lot_in_role(batch, "tincture")
    assert tincture is not None
    assert float(tincture.on_hand) == pytest.approx(655.8, abs=0.5)
    assert tincture.lot.abv == pytest.approx(78.69, abs=0.05)
    assert lot_in_role(batch, "maceration") is None
    assert not Occupancy.objects.filter(during__endswith__isnull=True).exists()


def test_a_weighed_marc_leaves_the_rest_named_as_unexplained():
    batch = a_charged_batch()
    at = NOON + 28 * DAY
    jar_notes.press_now(stage=stage_of(batch, "macerate"), by=a_maker(), at=at)
    step = stage_of(batch, "press")
    press.pour(stage=step, amount=typed("760 mL"), by=a_maker(), at=at)
    act = press.pressed(stage=step, marc=typed("280 g"), by=a_maker(), at=at)
    assert act.data["unexplained_g"] == pytest.approx(180 + 773.34 - 655.8 - 280, abs=1.5)


def test_a_withdrawn_pour_no_longer_counts():
    batch = a_charged_batch()
    at = NOON + 28 * DAY
    jar_notes.press_now(stage=stage_of(batch, "macerate"), by=a_maker(), at=at)
    step = stage_of(batch, "press")
    wrong = press.pour(stage=step, amount=typed("670 mL"), by=a_maker(), at=at)
    press.pour(stage=step, amount=typed("760 mL"), by=a_maker(), at=at)
    undo_act(act=wrong, by=a_maker(), at=at)
    act = press.pressed(stage=step, by=a_maker(), at=at)
    assert act.data["tincture_ml"] == pytest.approx(760)


def test_topping_up_moves_the_strength_by_mass():
    batch = a_charged_batch()
    before = jar_of(batch)
    jar_pours.top_up(
        stage=stage_of(batch, "macerate"),
        lot=a_spirit(),
        amount=typed("50 mL"),
        by=a_maker(),
        at=NOON + DAY,
    )
    after = jar_of(batch)
    assert before is not None and after is not None
    assert before.liquid_ml + 49 < after.liquid_ml < before.liquid_ml + 50
    assert before.abv < after.abv < 80
    assert after.ethanol_ml == pytest.approx(before.ethanol_ml + 48, abs=0.1)


def test_undoing_the_charge_brings_herb_vessel_and_stage_back():
    batch = a_charged_batch()
    act = stage_of(batch, "prepare").acts.get(act="charge")
    undo_act(act=act, by=an_owner(), at=NOON + DAY, reason="wrong jar")
    batch.refresh_from_db()
    assert stage_of(batch, "prepare").state == Stage.State.OPEN
    assert stage_of(batch, "macerate").state == Stage.State.WAITING
    assert batch.state == Batch.State.PLANNED
    assert not Occupancy.objects.exists()
    assert jar_of(batch) is None


def test_an_act_that_others_rest_on_is_not_undone_first():
    batch = a_charged_batch()
    made = stage_of(batch, "prepare").acts.get(act="make_up")
    with pytest.raises(Refused, match="Charged K7"):
        undo_act(act=made, by=an_owner(), at=NOON + DAY)


def test_a_broken_jar_ends_the_batch_and_can_be_undone():
    batch = a_charged_batch()
    act = jar_pours.take_out(
        stage=stage_of(batch, "macerate"), what="broken", reason="it fell", by=a_maker(), at=NOON + DAY
    )
    batch.refresh_from_db()
    assert batch.state == Batch.State.ENDED
    assert lot_in_role(batch, "maceration") is None
    undo_act(act=act, by=an_owner(), at=NOON + 2 * DAY)
    batch.refresh_from_db()
    assert batch.state == Batch.State.RUNNING
    assert lot_in_role(batch, "maceration") is not None
    assert a_material().name == "Turkey tail"


def test_two_jars_of_the_same_goods_join_by_mass():
    one, two = a_charged_batch(), a_batch(title="turkey tail, second")
    herb = a_lot(amount="200", moisture=0.09)
    charge.charge(
        stage=stage_of(two, "prepare"),
        herbs=[(herb, Decimal(100))],
        menstruum_lot=a_spirit(),
        menstruum=typed("300 mL"),
        vessel=a_vessel("K2", 1500),
        by=a_maker(),
        at=NOON,
    )
    jar_split.join(
        stage=stage_of(one, "macerate"), other=stage_of(two, "macerate"), by=a_maker(), at=NOON + DAY
    )
    jar = jar_of(one)
    two.refresh_from_db()
    assert jar is not None and jar.herb_g == pytest.approx(280)
    assert 78.69 < jar.abv < 96
    assert two.state == Batch.State.ENDED
    assert not Occupancy.objects.filter(vessel__tag="K2", during__endswith__isnull=True).exists()


def test_a_split_jar_sits_in_two_vessels_and_stays_one_lot():
    batch = a_charged_batch()
    jar_split.split(
        stage=stage_of(batch, "macerate"), vessel=a_vessel("K8"), percent=40, by=a_maker(), at=NOON + DAY
    )
    assert Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True).count() == 2


def test_a_shake_settles_its_reminder_and_undoing_it_makes_it_due_again():
    batch = a_charged_batch()
    stage = stage_of(batch, "macerate")
    key, at = key_of(stage, "shake"), NOON + 2 * DAY
    plan_ahead(at=at)
    assert next_for(keys=[key], at=at)[key].due_at <= at
    act = jar_notes.shake(stage=stage, by=a_maker(), at=at)
    assert next_for(keys=[key], at=at)[key].due_at > at
    undo_act(act=act, by=a_maker(), at=at)
    assert next_for(keys=[key], at=at)[key].due_at <= at


def test_pressing_takes_the_jars_reminders_off_the_board():
    batch = a_charged_batch()
    at = NOON + 28 * DAY
    plan_ahead(at=at)
    stage = stage_of(batch, "macerate")
    assert any(item.key.startswith(f"stage:{stage.pk}:") for item in due_now(at=at))
    jar_notes.press_now(stage=stage, by=a_maker(), at=at)
    assert not any(item.key.startswith(f"stage:{stage.pk}:") for item in due_now(at=at))

"""Undoing goes latest first, also where the later act moved no stock; reminders and vessels follow."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from batches.actions import charge, jar_notes, jar_pours, jar_split, pot, pot_read, press
from batches.actions.adopt_jar import Found, adopt_jar
from batches.actions.undo import undo_act
from batches.models import Batch, Occupancy, Reading, Stage
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_batch, a_charged_batch, a_lot, a_pressed_batch, a_spirit, a_vessel, typed
from workshop.errors import Refused
from workshop.reminders.models import Series

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
LATER = NOON + 28 * DAY


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def stage_of(batch: Batch, kind: str) -> Stage:
    return batch.stages.get(kind=kind)


def a_second_jar() -> Batch:
    batch = a_batch(title="turkey tail, second")
    charge.charge(
        stage=stage_of(batch, "prepare"),
        herbs=[(a_lot(amount="200", moisture=0.09), Decimal(100))],
        menstruum_lot=a_spirit(),
        menstruum=typed("300 mL"),
        vessel=a_vessel("K2", 1500),
        by=a_maker(),
        at=NOON,
    )
    return batch


def running(stage: Stage) -> int:
    return Series.objects.filter(key__startswith=f"stage:{stage.pk}:", closed_at=None).count()


def test_a_pour_that_was_pressed_is_not_undone_first() -> None:
    batch = a_pressed_batch()
    act = stage_of(batch, "press").acts.get(act="pour")
    with pytest.raises(Refused, match="Pressed 760.mL"):
        undo_act(act=act, by=an_owner(), at=LATER + HOUR)


def test_the_way_to_the_press_is_not_undone_under_its_pours() -> None:
    batch = a_charged_batch()
    act = jar_notes.press_now(stage=stage_of(batch, "macerate"), by=a_maker(), at=LATER)
    press.pour(stage=stage_of(batch, "press"), amount=typed("700 mL"), by=a_maker(), at=LATER)
    with pytest.raises(Refused, match="Poured off 700.mL"):
        undo_act(act=act, by=an_owner(), at=LATER + HOUR)


def test_a_pot_is_not_taken_off_under_its_readings() -> None:
    stage = stage_of(a_pressed_batch(), "decoct")
    kettle = a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    act = pot.set_pot(stage=stage, vessel=kettle, water=typed("3200 mL"), by=a_maker(), at=LATER)
    reading = pot_read.pot_reading(stage=stage, celsius=typed("76 °C"), by=a_maker(), at=LATER + HOUR)
    with pytest.raises(Refused, match="The pot: 76.°C"):
        undo_act(act=act, by=an_owner(), at=LATER + HOUR)
    undo_act(act=reading, by=an_owner(), at=LATER + HOUR)
    undo_act(act=act, by=an_owner(), at=LATER + HOUR)
    assert not Occupancy.objects.filter(vessel=kettle).exists()


def test_an_undone_note_takes_its_words_back() -> None:
    stage = stage_of(a_charged_batch(), "macerate")
    act = jar_notes.note(stage=stage, words="smells of earth", by=a_maker(), at=NOON + DAY)
    undo_act(act=act, by=a_maker(), at=NOON + DAY)
    kept = Reading.objects.filter(stage=stage, superseded_by__isnull=True, withdrawn=False)
    assert not kept.exists()


def test_the_reminders_of_a_jar_that_was_poured_over_rest_and_come_back() -> None:
    one, two = a_charged_batch(), a_second_jar()
    theirs = stage_of(two, "macerate")
    assert running(theirs) > 0
    before = running(theirs)
    act = jar_split.join(stage=stage_of(one, "macerate"), other=theirs, by=a_maker(), at=NOON + DAY)
    assert running(theirs) == 0
    undo_act(act=act, by=an_owner(), at=NOON + 2 * DAY)
    assert running(theirs) == before
    assert Occupancy.objects.filter(vessel__tag="K2", during__endswith__isnull=True).count() == 1


def test_two_jars_that_the_vessel_cannot_hold_are_not_joined() -> None:
    one, two = a_charged_batch(), a_second_jar()
    stage = stage_of(two, "macerate")
    jar_pours.top_up(stage=stage, lot=a_spirit(), amount=typed("900 mL"), by=a_maker(), at=NOON + HOUR)
    with pytest.raises(Refused, match="K7 holds 2,000.mL") as said:
        jar_split.join(stage=stage_of(one, "macerate"), other=stage, by=a_maker(), at=NOON + DAY)
    assert said.value.field == "other"


def test_a_jar_entered_by_mistake_leaves_no_batch_running() -> None:
    found = Found(title="Cellar jar", liquid=typed("800 mL"), vessel=a_vessel("K4", 1500))
    batch = adopt_jar(found=found, by=a_maker(), at=NOON)
    stage = stage_of(batch, "macerate")
    undo_act(act=stage.acts.get(act="adopt"), by=an_owner(), at=NOON + HOUR)
    batch.refresh_from_db()
    stage.refresh_from_db()
    assert batch.state == Batch.State.ENDED
    assert stage.state == Stage.State.WAITING
    assert running(stage) == 0


def test_nothing_happened_before_its_step_or_in_time_to_come() -> None:
    stage = stage_of(a_charged_batch(), "macerate")
    with pytest.raises(Refused, match="before this step began") as said:
        jar_notes.shake(stage=stage, by=a_maker(), at=NOON + DAY, happened_at=NOON - DAY)
    assert said.value.field == "happened_at"
    with pytest.raises(Refused, match="still to come"):
        jar_notes.shake(stage=stage, by=a_maker(), at=NOON + DAY, happened_at=NOON + 2 * DAY)

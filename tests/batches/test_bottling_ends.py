"""How a run ends: labels accounted for, the owner's decision, and what can be undone."""

from __future__ import annotations

from datetime import date

import pytest

from batches.actions import bottling, filling
from batches.actions.labels import print_labels
from batches.actions.undo import undo_act, undo_run
from batches.queries import bottling as look
from inventory.actions.decide import decide_lot
from inventory.queries.lots import status_of
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_bottling import (
    BOTTLED,
    DAY_32,
    a_bulk,
    a_closed_run,
    a_filled_run,
    a_run,
    bottles,
    masses,
    on_hand,
    sell,
)
from tests.builders_jar import a_lot, a_material, a_place, typed
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop()


def test_undoing_a_filling_brings_everything_back_and_keeps_the_lot_code():
    run = a_run()
    before = {lot.pk: on_hand(lot) for lot in (run.bulk, run.bottle, run.closure)}
    run = a_filled_run(run)
    run = undo_run(run=run, by=an_owner(), at=BOTTLED, reason="Counted the wrong box")
    assert run.state == "open"
    assert run.filled is None
    assert {lot.pk: on_hand(lot) for lot in (run.bulk, run.bottle, run.closure)} == before
    assert on_hand(run.finished) == 0
    again = a_filled_run(run, count=39)
    assert again.finished.code == run.finished.code
    assert on_hand(run.finished) == 39


def test_a_filling_is_not_undone_twice():
    run = undo_run(run=a_filled_run(), by=an_owner(), at=BOTTLED, reason="Wrong")
    with pytest.raises(Refused, match="gone on since|already undone"):
        undo_run(run=run, by=an_owner(), at=BOTTLED, reason="Wrong")


def test_bottles_that_left_stop_the_undoing_and_are_named():
    run = a_closed_run()
    decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED)
    sell(run, 12)
    with pytest.raises(Refused, match="Sold to Fern Hollow: 12 of T26"):
        undo_run(run=run, by=an_owner(), at=BOTTLED, reason="Wrong")


def test_an_unreleased_lot_does_not_leave():
    with pytest.raises(Refused, match="may not leave"):
        sell(a_closed_run(), 12)


def test_a_maker_may_not_release_the_lot_and_is_told_why():
    with pytest.raises(Refused, match="Only the owner decides"):
        decide_lot(lot=a_closed_run().finished, status="released", by=a_maker(), at=BOTTLED)


def test_labels_are_accounted_for_before_a_run_is_closed():
    run = a_filled_run()
    with pytest.raises(Refused, match="No labels were printed"):
        bottling.close_run(run=run, spoiled_labels=0, left_labels=0, by=a_maker(), at=BOTTLED)
    print_labels(run=run, count=48, by=a_maker(), at=BOTTLED)
    with pytest.raises(Refused, match="48.labels printed; 40 on bottles, 3 spoiled and 4 left: 1 missing"):
        bottling.close_run(run=run, spoiled_labels=3, left_labels=4, by=a_maker(), at=BOTTLED)
    run = bottling.close_run(run=run, spoiled_labels=3, left_labels=5, by=a_maker(), at=BOTTLED)
    assert run.state == "closed"


def test_a_missing_label_is_closed_with_a_reason_that_stands():
    run = a_filled_run()
    print_labels(run=run, count=41, by=a_maker(), at=BOTTLED)
    run = bottling.close_run(
        run=run, spoiled_labels=0, left_labels=0, reason="Fell behind the bench", by=a_maker(), at=BOTTLED
    )
    assert run.facts["labels"] == {
        "printed": 41, "left": 0, "missing": 1, "reason": "Fell behind the bench"
    }  # fmt: skip


def test_a_reprint_says_why():
    run = a_run()
    print_labels(run=run, count=40, by=a_maker(), at=BOTTLED)
    with pytest.raises(Refused, match="printed before") as refusal:
        print_labels(run=run, count=2, by=a_maker(), at=BOTTLED)
    assert refusal.value.field == "reason"
    print_labels(run=run, count=2, reason="Two torn", by=a_maker(), at=BOTTLED)
    assert look.printed_of(run) == 42


def test_no_label_of_a_closed_run_is_printed():
    with pytest.raises(Refused, match="is closed: its labels are accounted for"):
        print_labels(run=a_closed_run(), count=1, reason="One more", by=an_owner(), at=BOTTLED)


def test_the_bottling_ends_when_every_run_is_closed():
    run = a_run()
    stage = run.batch.stages.get(kind="bottle")
    with pytest.raises(Refused, match="not closed yet: T26"):
        bottling.all_bottled(stage=stage, by=a_maker(), at=BOTTLED)
    a_closed_run(a_filled_run(run))
    bottling.all_bottled(stage=stage, by=a_maker(), at=BOTTLED)
    run.batch.refresh_from_db()
    assert run.batch.state == "done"
    assert on_hand(run.bulk) > 0


def test_the_bottling_does_not_end_before_it_began():
    stage = a_bulk().stages.get(kind="bottle")
    with pytest.raises(Refused, match="Nothing was bottled yet"):
        bottling.all_bottled(stage=stage, by=a_maker(), at=BOTTLED)


def test_one_run_is_undone_whatever_another_run_of_the_batch_did():
    batch = a_bulk()
    first = a_filled_run(a_run(batch, planned=20), count=20, reserve=0)
    a_filled_run(a_run(batch, planned=20), count=20, reserve=0)
    assert undo_run(run=first, by=an_owner(), at=BOTTLED, reason="Wrong lot").state == "open"


def test_undoing_the_closing_opens_the_labels_again_and_moves_nothing():
    run = a_closed_run()
    act = run.batch.stages.get(kind="bottle").acts.get(act="run_closed")
    undo_act(act=act, by=an_owner(), at=BOTTLED, reason="Found the label")
    run.refresh_from_db()
    assert run.state == "filled"
    assert on_hand(run.finished) == 40


def test_a_run_that_went_on_is_not_undone_from_its_beginning():
    run = a_filled_run()
    act = run.batch.stages.get(kind="bottle").acts.get(act="open_run")
    with pytest.raises(Refused, match="gone on since"):
        undo_act(act=act, by=an_owner(), at=BOTTLED, reason="Wrong")


def test_a_found_bulk_without_a_batch_is_bottled_and_undone():
    goods = a_material("Old elderberry", "bulk")
    found = a_lot(goods, amount="1000", abv=40.0)
    run = bottling.open_run(
        bulk=found,
        bottle=bottles(),
        place=a_place(),
        fill=typed("50 mL"),
        best_before=date(2027, 6, 1),
        by=an_owner(),
        at=DAY_32,
    )
    assert run.batch is None
    assert run.planned == 20
    run = filling.filled(run=run, count=20, by=an_owner(), at=BOTTLED)
    assert masses(look.posting_of(run)) == 0
    assert undo_run(run=run, by=an_owner(), at=BOTTLED, reason="Wrong").state == "open"
    assert on_hand(found) == 1000


def test_a_label_whose_strength_is_off_by_more_than_0_3_is_pointed_out():
    """Regulation (EU) 1169/2011 Annex XII: 0.3 % vol."""
    run = a_filled_run()
    assert look.strength_moved(run) is None
    printed = run.finished.abv + 0.5
    print_labels(run=run, count=40, facts={"abv": printed}, by=an_owner(), at=BOTTLED)
    run.refresh_from_db()
    assert look.strength_moved(run) == pytest.approx(run.finished.abv)


def test_a_lot_is_not_released_before_its_labels_are_accounted_for():
    run = a_filled_run()
    with pytest.raises(Refused, match="still on the bottling bench"):
        decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED)
    run = a_closed_run(run)
    act = run.batch.stages.get(kind="bottle").acts.get(act="run_closed")
    undo_act(act=act, by=an_owner(), at=BOTTLED, reason="A label turned up")
    with pytest.raises(Refused, match="still on the bottling bench"):
        decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED)
    run.refresh_from_db()
    bottling.close_run(run=run, spoiled_labels=0, left_labels=2, by=an_owner(), at=BOTTLED)
    assert decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED).status == "released"


def test_a_released_lot_whose_filling_is_undone_waits_for_the_owner_again():
    run = a_closed_run()
    decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED)
    run = undo_run(run=run, by=a_maker(), at=BOTTLED, reason="Wrong bulk")
    assert status_of(run.finished) == "quarantine"
    a_filled_run(run)
    with pytest.raises(Refused, match="may not leave"):
        sell(run, 1)


def test_the_closing_is_not_undone_behind_bottles_that_left():
    run = a_closed_run()
    decide_lot(lot=run.finished, status="released", by=an_owner(), at=BOTTLED)
    sell(run, 1)
    act = run.batch.stages.get(kind="bottle").acts.get(act="run_closed")
    with pytest.raises(Refused, match="Sold to Fern Hollow"):
        undo_act(act=act, by=an_owner(), at=BOTTLED, reason="Recount")

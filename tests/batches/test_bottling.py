"""From the bulk lot to bottles: what is taken, what is given, what is named.

Masses: 2,060 g at 28 % vol weigh 964.4 g/L (OIML R 22, section 4), so 50 mL are 48.2 g. One posting keeps
the mass: what went out of the bulk is in the bottles or named.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from batches.actions import bottling, filling
from batches.actions.labels import print_labels
from batches.actions.undo import undo_act, undo_run
from batches.models import BottlingRun
from batches.queries import bottling as look
from inventory.actions.decide import decide_lot
from inventory.actions.dispatch import NewCustomer, Take, dispatch_lots
from inventory.models import Lot, Place
from inventory.models.postings import Movement, Posting, Stock
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
    bulk_of,
    droppers,
)
from tests.builders_jar import a_batch, a_bulk_batch, a_lot, a_material, a_place, typed
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop()


def on_hand(lot: Lot, kind: str = "") -> Decimal:
    rows = Stock.objects.filter(lot=lot)
    if kind:
        rows = rows.filter(place__kind=kind)
    return sum(rows.values_list("on_hand", flat=True), Decimal(0))


def masses(posting: Posting) -> Decimal:
    return sum(Movement.objects.filter(posting=posting).values_list("mass_g", flat=True), Decimal(0))


def losses(run: BottlingRun) -> dict[str, Decimal]:
    rows = Movement.objects.filter(posting=look.posting_of(run), lot=None)
    return dict(rows.values_list("loss_kind", "mass_g"))


def test_one_posting_takes_bulk_bottles_and_closures_and_gives_a_finished_lot():
    run = a_run()
    before = on_hand(run.bulk)
    run = a_filled_run(run, spoiled=1)
    content = 40 * 50 * run.bulk.density_20 / 1000
    assert masses(look.posting_of(run)) == 0
    assert float(before - on_hand(run.bulk)) == pytest.approx(content, abs=0.001)
    assert on_hand(run.bottle) == 60 - 41
    assert on_hand(run.closure) == 60 - 40
    assert on_hand(run.finished) == 40
    line = Movement.objects.get(posting=look.posting_of(run), lot=run.finished)
    assert float(line.mass_g) == pytest.approx(content, abs=0.001)
    assert line.pure_ml == pytest.approx(2000 * run.bulk.abv / 100)


def test_the_finished_lot_waits_in_quarantine_with_what_its_label_will_say():
    run = a_filled_run()
    lot = Lot.objects.get(pk=run.finished.pk)
    assert status_of(lot) == "quarantine"
    assert (lot.origin, lot.fill_ml) == ("bottled", 50)
    assert lot.abv == pytest.approx(run.bulk.abv)
    assert lot.abv_basis == run.bulk.abv_basis == "balance"
    assert lot.abv_u == pytest.approx(run.bulk.abv_u)
    assert lot.material.counted
    assert run.batch.lots.get(lot=lot).role == "finished"


def test_reserve_samples_stand_apart():
    run = a_filled_run()
    assert on_hand(run.finished, Place.Kind.RESERVE) == 2
    assert on_hand(run.finished) == 40


def test_overfill_is_content():
    """Five bottles on the scale hold 0.5 g more each: 20 g more are in the bottles, none is lost."""
    run = a_run()
    before = on_hand(run.bulk)
    run = a_filled_run(run, overfill=typed("0.5 g"))
    content = 40 * (50 * run.bulk.density_20 / 1000 + 0.5)
    assert float(before - on_hand(run.bulk)) == pytest.approx(content, abs=0.001)
    assert losses(run) == {}
    assert run.overfill_ml == pytest.approx(0.5 / run.bulk.density_20 * 1000)


def test_losses_are_named_and_the_rest_is_unexplained_when_the_bulk_is_weighed():
    run = a_run()
    stood = on_hand(run.bulk)
    content = Decimal(str(40 * 50 * run.bulk.density_20 / 1000)).quantize(Decimal("0.001"))
    left = (stood - content - 15).quantize(Decimal("0.1"))
    run = a_filled_run(run, sludge=typed("6 g"), transfer=typed("5 g"), left=typed(f"{left} g"))
    assert losses(run)["sludge"] == 6
    assert losses(run)["transfer"] == 5
    assert losses(run)["unexplained"] == stood - left - content - 11
    assert on_hand(run.bulk) == left
    assert masses(look.posting_of(run)) == 0


def test_a_second_run_takes_what_the_first_left_under_its_own_lot():
    batch = a_bulk()
    first = a_filled_run(a_run(batch, planned=20), count=20)
    left = on_hand(bulk_of(batch))
    second = a_filled_run(a_run(batch, planned=22), count=20, at=BOTTLED + timedelta(days=5))
    assert first.finished.code != second.finished.code
    assert first.best_before == second.best_before
    assert 0 < on_hand(bulk_of(batch)) < left


def test_the_bottles_planned_come_from_the_bulk():
    """2,136 mL less 1 % make 42 bottles of 50 mL."""
    batch = a_bulk()
    run = bottling.open_run(bulk=bulk_of(batch), bottle=bottles(), place=a_place(), by=an_owner(), at=DAY_32)
    assert run.planned == 42
    assert run.fill_ml == 50


def test_best_before_is_calendar_months_from_the_day_the_bulk_was_made():
    """Decanted on 3 April 2026, 24 months: 3 April 2028, whenever it is bottled."""
    batch = a_bulk()
    late = a_run(batch, at=DAY_32 + timedelta(days=90))
    assert bulk_of(batch).created_at.date() == date(2026, 4, 3)
    assert late.best_before == date(2028, 4, 3) == late.finished.best_before


def test_best_before_may_be_earlier_not_later():
    batch = a_bulk()
    assert a_run(batch, best_before=date(2027, 12, 31)).best_before == date(2027, 12, 31)
    with pytest.raises(Refused, match="An earlier date may be set, not a later one") as refusal:
        a_run(batch, best_before=date(2029, 1, 1))
    assert refusal.value.field == "best_before"


def test_a_quick_jar_needs_its_own_date_and_content():
    batch = a_bulk_batch(trial=True)
    with pytest.raises(Refused, match="how many mL one bottle holds"):
        a_run(batch)
    with pytest.raises(Refused, match="no formula to take it from"):
        a_run(batch, fill=typed("50 mL"))
    run = a_run(batch, fill=typed("50 mL"), best_before=date(2027, 1, 1))
    assert run.product.name == "Turkey tail, trial"
    assert run.product.counted


@pytest.mark.parametrize("what", ["bottle", "closure"])
def test_unreleased_bottles_or_closures_are_refused(what):
    waiting = {"bottle": bottles, "closure": droppers}[what](status="quarantine")
    run = a_run(**{what: waiting})
    with pytest.raises(Refused, match="in quarantine, so it cannot be used"):
        a_filled_run(run)
    assert BottlingRun.objects.get(pk=run.pk).state == "open"


def test_too_few_bottles_are_refused_and_nothing_moves():
    run = a_run(bottle=bottles(30))
    before = on_hand(run.bulk)
    with pytest.raises(Refused, match="has 30 at .*, and 40 is wanted"):
        a_filled_run(run)
    assert on_hand(run.bulk) == before


def test_more_than_the_bulk_holds_is_refused_in_words():
    with pytest.raises(Refused, match="Count again, or weigh what is left") as refusal:
        a_filled_run(a_run(bottle=bottles(90), closure=droppers(90)), count=60)
    assert refusal.value.field == "count"


def test_a_bottle_too_small_is_refused():
    with pytest.raises(Refused, match="holds 50.mL; 60.mL does not fit"):
        a_run(fill=typed("60 mL"))


@pytest.mark.parametrize(
    ("facts", "field", "words"),
    [
        ({"count": 0}, "count", "at least one"),
        ({"reserve": 41}, "reserve", "keep fewer"),
        ({"overfill": typed("60 g")}, "overfill", "no overfill"),
        ({"left": typed("5 kg")}, "left", "more cannot be left"),
    ],
)
def test_senseless_counts_are_refused(facts, field, words):
    with pytest.raises(Refused, match=words) as refusal:
        a_filled_run(a_run(), **facts)
    assert refusal.value.field == field


def test_bulk_of_another_batch_is_refused_until_it_is_released():
    theirs, mine = bulk_of(a_bulk()), a_batch("bottle")
    stage = mine.stages.get(kind="bottle")

    def opened() -> BottlingRun:
        return bottling.open_run(
            bulk=theirs,
            bottle=bottles(),
            place=a_place(),
            fill=typed("50 mL"),
            best_before=date(2027, 1, 1),
            stage=stage,
            by=an_owner(),
            at=DAY_32,
        )

    with pytest.raises(Refused, match="belongs to another batch until the owner releases it"):
        opened()
    decide_lot(lot=theirs, status="released", by=an_owner(), at=DAY_32)
    run = filling.filled(run=opened(), count=5, by=an_owner(), at=BOTTLED)
    assert run.batch == mine


def test_a_bulk_lot_that_is_used_up_is_refused():
    batch = a_bulk()
    run = a_run(batch)
    filling.filled(run=run, count=40, left=typed("0 g"), by=an_owner(), at=BOTTLED)
    assert on_hand(run.bulk) == 0
    with pytest.raises(Refused, match="is used up"):
        a_run(batch)


def test_a_dropped_run_takes_nothing_and_is_told():
    run = a_run()
    with pytest.raises(Refused, match="Write why"):
        bottling.drop_run(run=run, by=a_maker(), at=DAY_32, reason=" ")
    run = bottling.drop_run(run=run, by=a_maker(), at=DAY_32, reason="Pump broke")
    assert run.state == "dropped"
    assert on_hand(run.finished) == 0
    with pytest.raises(Refused, match="it was dropped"):
        a_filled_run(run)
    assert run.batch.stages.get(kind="bottle").acts.last().act == "run_dropped"


def test_a_filled_run_cannot_be_dropped():
    with pytest.raises(Refused, match="its bottles are filled"):
        bottling.drop_run(run=a_filled_run(), by=an_owner(), at=BOTTLED, reason="No")


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


def sell(run: BottlingRun, count: int) -> None:
    dispatch_lots(
        customer=NewCustomer("Fern Hollow"),
        takes=[Take(run.finished, run.place, Decimal(count))],
        by=an_owner(),
        at=BOTTLED,
        key=f"sell-{run.pk}",
    )


def test_labels_are_accounted_for_before_a_run_is_closed():
    run = a_filled_run()
    with pytest.raises(Refused, match="No labels were printed"):
        bottling.close_run(run=run, spoiled_labels=0, left_labels=0, by=a_maker(), at=BOTTLED)
    print_labels(run=run, count=48, by=a_maker(), at=BOTTLED)
    with pytest.raises(
        Refused, match="48 labels were printed; 40 are on bottles, 3 spoiled and 4 left: 1 missing"
    ):
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

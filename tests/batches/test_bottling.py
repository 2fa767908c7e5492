"""From the bulk lot to bottles: what is taken, what is given, what is named.

Masses: 2,060 g at 28 % vol weigh 964.4 g/L (OIML R 22, section 4), so 50 mL are 48.2 g. One posting keeps
the mass: what went out of the bulk is in the bottles or named.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from batches.actions import bottling, filling
from batches.models import BottlingRun
from batches.queries import bottling as look
from inventory.actions.decide import decide_lot
from inventory.models import Lot, Place
from inventory.models.postings import Movement
from inventory.queries.lots import status_of
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_bottling import (
    BOTTLED,
    DAY_32,
    a_bulk,
    a_filled_run,
    a_run,
    bottles,
    bulk_of,
    droppers,
    masses,
    on_hand,
)
from tests.builders_jar import a_batch, a_bulk_batch, a_place, typed
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop()


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

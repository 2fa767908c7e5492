"""What stands on the shelf, how full, and what it says of itself."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from batches.actions import combine, jar_notes, jar_split, press, settle, undo
from batches.models import Occupancy
from batches.queries.jar import jar_of
from batches.queries.pot import pot_of
from batches.queries.shelf import InVessel, shelf_now
from batches.queries.shelf_sentence import opening
from batches.queries.shelf_words import draw, level_of, phrase_of, tag_of
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import typed
from tests.builders_shelf import DAY
from workshop.errors import Refused
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("Europe/London")


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def said(text: str) -> str:
    return text.replace("\u00a0", " ")


def standing(tag: str, at: object) -> InVessel:
    plan_ahead(at=at)  # type: ignore[arg-type]
    return next(one for one in shelf_now(at).vessels if one.seat.vessel.tag == tag)  # type: ignore[arg-type]


def test_a_jar_is_as_full_as_its_herb_and_liquid_make_it() -> None:
    """903 mL of liquid (the plant's 16 mL of water less the contraction) and 180 g at 0.7 mL in 2,000 mL."""
    batch = shop.a_jar()
    one = standing("K7", NOON + DAY)
    jar = jar_of(batch)
    assert jar is not None and one.jar is not None
    assert one.jar.liquid_ml == pytest.approx(jar.liquid_ml)
    assert one.jar.abv == pytest.approx(jar.abv)
    assert level_of(one) == pytest.approx((jar.liquid_ml + 180 * 0.7) / 2000)


def test_days_are_phrases() -> None:
    batch = shop.looked_at(shop.a_jar(), NOON + DAY)
    assert (
        said(phrase_of(standing("K7", NOON + 9 * DAY), at=NOON + 9 * DAY, zone=ZONE))
        == "day 9, press from 14"
    )
    at = NOON + 16 * DAY
    plan_ahead(at=at)
    jar_notes.shake(stage=shop.steeping(batch), by=an_owner(), at=at)
    assert said(phrase_of(standing("K7", at), at=at, zone=ZONE)) == "shaken, day 16 of 28"
    late = NOON + 40 * DAY
    assert said(phrase_of(standing("K7", late), at=late, zone=ZONE)) == "day 40 of 42"


def test_a_jar_that_needs_nothing_has_no_tag() -> None:
    batch = shop.looked_at(shop.a_jar(), NOON + DAY)
    at = NOON + 9 * DAY
    plan_ahead(at=at)
    assert tag_of(standing("K7", at), at=at, zone=ZONE) is not None
    jar_notes.shake(stage=shop.steeping(batch), by=an_owner(), at=at)
    assert tag_of(standing("K7", at), at=at, zone=ZONE) is None


def test_a_window_near_its_end_is_a_late_tag_with_its_day() -> None:
    """Charged on Monday 2 March 2026; day 42 is Monday 13 April."""
    shop.looked_at(shop.a_jar(), NOON + DAY)
    at = NOON + 40 * DAY
    tag = tag_of(standing("K7", at), at=at, zone=ZONE)
    assert tag is not None and (tag.kind, tag.words) == ("late", "Press by Mon")
    target = NOON + 28 * DAY
    calm = tag_of(standing("K7", target), at=target, zone=ZONE)
    assert calm is not None and (calm.kind, calm.words) == ("late", "Shake")  # yesterday's went by


def test_a_pot_counts_down_to_its_reading() -> None:
    shop.a_pot_on()
    set_at = NOON + timedelta(days=28, hours=2)
    at = set_at + timedelta(minutes=18)
    one = standing("P1", at)
    tag = tag_of(one, at=at, zone=ZONE)
    assert tag is not None and (tag.kind, said(tag.words)) == ("heat", "Read in 12 min")
    overdue = set_at + timedelta(minutes=50)
    late = tag_of(standing("P1", overdue), at=overdue, zone=ZONE)
    assert late is not None and (late.kind, late.words) == ("late", "Read it now")


def test_the_pot_on_the_shelf_is_the_pot_of_its_batch() -> None:
    batch = shop.a_pot_on()
    at = NOON + timedelta(days=28, hours=3)
    one, alone = standing("P1", at), pot_of(batch.stages.get(kind="decoct"), at)
    assert one.pot is not None and alone is not None
    assert one.pot.now_ml == pytest.approx(alone.now_ml)
    assert one.pot.target_ml == pytest.approx(alone.target_ml)
    assert level_of(one) == pytest.approx(alone.now_ml / 6000)


def test_what_was_combined_stands_in_its_vessel_until_it_is_decanted() -> None:
    batch = shop.a_settling_batch()
    at = NOON + 30 * DAY
    one = standing("T3", at)
    assert one.held_ml == pytest.approx(2136, abs=2)  # 760 mL of 78.7 % and 1,407 mL of water, OIML R 22
    tag = tag_of(one, at=at, zone=ZONE)
    assert tag is not None and tag.kind == "settling"
    assert phrase_of(one, at=at, zone=ZONE) == "clear by Friday"  # combined on Tuesday 31 March, three days
    drawn = draw(one, at=at, zone=ZONE)
    assert drawn.title == "Turkey tail, combined" and drawn.marc == 0
    due = NOON + 33 * DAY
    ready = tag_of(standing("T3", due), at=due, zone=ZONE)
    assert ready is not None and ready.words == "Decant"
    settle.decanted(stage=batch.stages.get(kind="settle"), by=an_owner(), at=due)
    assert [one.seat.vessel.tag for one in shelf_now(due).vessels] == []


def test_the_settling_reminder_is_at_the_vessel_s_place() -> None:
    batch = shop.a_settling_batch()
    one = standing("T3", NOON + 33 * DAY)
    assert one.due["settle"].place == "Cool cupboard"
    assert batch.lots.get(role="combined").lot_id == one.seat.lot_id


def test_a_tincture_keeps_its_jar_and_gives_it_up_when_it_is_combined() -> None:
    batch, owner = shop.looked_at(shop.a_jar(), NOON + DAY), an_owner()
    later = NOON + 28 * DAY
    jar_notes.press_now(stage=shop.steeping(batch), by=owner, at=later)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed("760 mL"), by=owner, at=later)
    kept = Occupancy.objects.get(vessel__tag="K7").vessel
    act = press.pressed(stage=step, vessel=kept, by=owner, at=later + timedelta(hours=1))
    one = standing("K7", later + timedelta(hours=2))
    assert one.role == "tincture" and one.held_ml == pytest.approx(760, abs=0.5)
    assert draw(one, at=later, zone=ZONE).title == "Turkey tail, tincture"
    undo.undo_act(act=act, by=owner, at=later + timedelta(hours=3))
    assert standing("K7", later + timedelta(hours=4)).role == "maceration"


def test_a_tincture_stands_where_the_vessel_stands() -> None:
    batch, owner = shop.looked_at(shop.a_jar(), NOON + DAY), an_owner()
    later = NOON + 28 * DAY
    jar_notes.press_now(stage=shop.steeping(batch), by=owner, at=later)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed("760 mL"), by=owner, at=later)
    small = jars.a_vessel("T1", 500)
    with pytest.raises(Refused, match="T1 holds 500.mL; the tincture is 760.mL. Take a larger vessel."):
        press.pressed(stage=step, vessel=small, by=owner, at=later)
    cupboard = jars.a_vessel("T2", 1000, place=jars.a_place("Cool cupboard"))
    press.pressed(stage=step, vessel=cupboard, by=owner, at=later)
    assert standing("T2", later).seat.vessel.place.name == "Cool cupboard"


def test_a_vessel_too_small_for_what_is_poured_together_is_refused() -> None:
    batch = jars.a_strained_batch(plan={"target_abv": 28.0})
    with pytest.raises(Refused, match="T9 holds 2,000.mL; together it is 2,1"):
        combine.combine(
            stage=batch.stages.get(kind="combine"),
            extract=typed("1407.1 mL"),
            vessel=jars.a_vessel("T9", 2000),
            by=an_owner(),
            at=NOON + 29 * DAY,
        )
    assert not batch.lots.filter(role="combined").exists()


def test_two_vessels_of_one_jar_stand_equally_full() -> None:
    batch = shop.a_jar()
    other = jars.a_vessel("K8", 1000)
    jar_split.split(stage=shop.steeping(batch), vessel=other, percent=33, by=an_owner(), at=NOON + DAY)
    at = NOON + 2 * DAY
    assert level_of(standing("K7", at)) == pytest.approx(level_of(standing("K8", at)))


def test_the_opening_counts_in_words_and_names_the_day() -> None:
    for number, tag in enumerate(["K1", "K2", "K3"]):
        shop.looked_at(shop.a_jar(tag, at=NOON - number * DAY), NOON + DAY)
    shop.looked_at(shop.a_jar("M1", at=NOON - 35 * DAY), NOON - 34 * DAY)
    at = NOON + 5 * DAY
    plan_ahead(at=at)
    found = opening(shelf_now(at), at=at, zone=ZONE)
    assert [part.words for part in found.parts] == ["Four jars to shake", "one jar to press by Monday"]
    assert found.parts[1].tone == "late"


def test_nothing_due_says_what_comes_next() -> None:
    batch = shop.looked_at(shop.a_jar(), NOON + DAY)
    at = NOON + 9 * DAY
    plan_ahead(at=at)
    jar_notes.shake(stage=shop.steeping(batch), by=an_owner(), at=at)
    found = opening(shelf_now(at), at=at, zone=ZONE)
    assert found.parts == [] and found.more.startswith("Next, ") and "shake turkey tail" in found.more


def test_a_batch_without_a_vessel_is_in_hand_all_the_same() -> None:
    batch = jars.a_batch(title="elderberry syrup")
    shelf = shelf_now(NOON)
    assert [(stage.batch, stage.kind) for stage in shelf.loose] == [(batch, "prepare")]


def test_the_queries_do_not_grow_with_the_vessels() -> None:
    shop.looked_at(shop.a_jar("K0"), NOON + DAY)
    shop.a_pot_on(NOON - 28 * DAY)
    with CaptureQueriesContext(
        connection,
    ) as few:
        shelf_now(NOON + 3 * DAY)
    for number in range(1, 6):
        shop.a_jar(f"J{number}")
    with CaptureQueriesContext(connection) as many:
        found = shelf_now(NOON + 3 * DAY)
    assert len(found.vessels) == 7
    assert len(many) == len(few)

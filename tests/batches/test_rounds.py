"""A round through the workshop: many jars at once, once each, and all of it taken back."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from batches.actions import jar_notes, rounds
from batches.models import StageAct
from batches.queries.rounds import rounds as due_rounds
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_shelf import DAY
from workshop.errors import Refused
from workshop.reminders.queries import due_now
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("Europe/London")


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def shaken_due(at: object) -> list[str]:
    plan_ahead(at=at)  # type: ignore[arg-type]
    return [item.title for item in due_now(at=at) if item.act == "shake"]  # type: ignore[arg-type]


def two_jars() -> list[int]:
    first = shop.looked_at(shop.a_jar("K1"), NOON + DAY)
    second = shop.looked_at(shop.a_jar("K2", title="reishi"), NOON + DAY)
    return [shop.steeping(first).pk, shop.steeping(second).pk]


def test_a_shelf_of_jars_is_shaken_in_one_act() -> None:
    stages, at = two_jars(), NOON + 3 * DAY
    assert len(shaken_due(at)) == 2
    acts = rounds.shake_all(stages=stages, by=a_maker(), at=at)
    assert [act.caption for act in acts] == ["Shaken", "Shaken"]
    assert shaken_due(at) == []


def test_one_that_went_to_the_press_stops_all_of_them() -> None:
    stages, at = two_jars(), NOON + 30 * DAY
    jar_notes.press_now(stage=shop.steeping(jars.Batch.objects.get(title="reishi")), by=an_owner(), at=at)
    with pytest.raises(Refused, match=r"Batch 2, reishi is no longer steeping, so nothing was saved\."):
        rounds.shake_all(stages=stages, by=a_maker(), at=at)
    assert not StageAct.objects.filter(act="shake").exists()


def test_a_step_that_is_no_jar_is_refused() -> None:
    batch = shop.a_jar()
    with pytest.raises(Refused, match="has no jar to shake"):
        rounds.shake_all(stages=[batch.stages.get(kind="press").pk], by=a_maker(), at=NOON)


def test_shakes_are_taken_back_for_good_and_due_again() -> None:
    stages, at = two_jars(), NOON + 3 * DAY
    plan_ahead(at=at)
    acts = rounds.shake_all(stages=stages, by=a_maker(), at=at)
    pks = [act.pk for act in acts]
    rounds.take_back(acts=pks, by=a_maker(), at=at)
    assert len(shaken_due(at)) == 2
    assert StageAct.objects.filter(undoes__in=pks).count() == 2
    with pytest.raises(Refused, match="already undone"):
        rounds.take_back(acts=pks, by=a_maker(), at=at)
    assert StageAct.objects.filter(undoes__in=pks).count() == 2


def test_only_shakes_go_back_this_way() -> None:
    charge = StageAct.objects.filter(act="charge", stage__batch=shop.a_jar()).get()
    with pytest.raises(Refused, match="not a shake"):
        rounds.take_back(acts=[charge.pk], by=an_owner(), at=NOON)


def test_left_for_now_leaves_the_board_and_comes_back() -> None:
    two_jars()
    at = NOON + 3 * DAY
    plan_ahead(at=at)
    due = next(item for item in due_now(at=at) if item.act == "shake")
    rounds.leave_for_now(due=due.pk, reason="cloudy", by=a_maker(), at=at)
    assert len(shaken_due(at)) == 1
    rounds.ask_again(due=due.pk, by=a_maker(), at=at)
    assert len(shaken_due(at)) == 2


def test_places_come_in_walking_order_and_acts_in_the_order_of_one_walk() -> None:
    far, near = jars.a_place("Far shelf"), jars.a_place("By the door")
    far.walk, near.walk = 2, 1
    far.save()
    near.save()
    shop.looked_at(shop.a_jar("K1", place=far, at=NOON - 30 * DAY), NOON - 29 * DAY)
    shop.a_jar("K2", place=near, title="reishi")
    at = NOON + 2 * DAY
    plan_ahead(at=at)
    found = due_rounds(at=at, zone=ZONE)
    assert [place.name for place in found.places] == ["By the door", "Far shelf"]
    assert [group.act for group in found.places[0].acts] == ["check", "shake"]
    assert [group.act for group in found.places[1].acts] == ["shake", "press"]
    assert found.places[1].acts[0].items[0].tags == "K1"
    assert found.count == 4


def test_missed_shakes_are_one_tally() -> None:
    """Shaking starts on day 1, daily: with day 4 due and nothing done, days 1 to 3 went by."""
    shop.looked_at(shop.a_jar(), NOON + DAY)
    at = NOON + 4 * DAY
    plan_ahead(at=at)
    assert due_rounds(at=at, zone=ZONE).missed == 3


def test_what_comes_next_stands_below() -> None:
    batch = shop.looked_at(shop.a_jar(), NOON + DAY)
    at = NOON + 3 * DAY
    plan_ahead(at=at)
    rounds.shake_all(stages=[shop.steeping(batch).pk], by=a_maker(), at=at)
    found = due_rounds(at=at, zone=ZONE)
    assert found.count == 0
    assert [(day.words, len(day.items)) for day in found.coming] == [("Tomorrow", 1)]

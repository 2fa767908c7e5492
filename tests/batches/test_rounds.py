"""A round through the workshop: many jars at once, once each, and all of it taken back."""

from __future__ import annotations

import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from batches.actions import jar_notes, rounds
from batches.models import StageAct
from batches.queries.batch_list import batch_lines
from batches.queries.press_days import press_of, press_told
from batches.queries.rounds import rounds as due_rounds
from batches.queries.shelf import shelf_now
from batches.queries.shelf_sentence import WORDS, opening
from batches.queries.shelf_words import press_when
from batches.queries.wall import wall
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_shelf import DAY
from workshop.errors import Refused
from workshop.reminders.queries import board, due_by, due_now, tally
from workshop.reminders.series import plan_ahead
from workshop.reminders.words import things

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


def test_shelf_rounds_wall_and_the_digest_count_the_same() -> None:
    """A jar to shake late, one to press, one that may be pressed, a pot: one count, everywhere."""
    shop.looked_at(shop.a_jar("K1", at=NOON - 28 * DAY), NOON - 27 * DAY)  # its press day is today
    shop.looked_at(shop.a_jar("K2", at=NOON - 15 * DAY, title="reishi"), NOON - 14 * DAY)  # may be pressed
    shop.a_pot_on(NOON - 28 * DAY)
    at = NOON + timedelta(hours=4)
    plan_ahead(at=at)
    walk, board_now = due_rounds(at=at, zone=ZONE), board(at=at)
    shelf = opening(shelf_now(at), at=at, zone=ZONE)
    numbers = [WORDS.index(part.words.split()[0].lower()) for part in shelf.parts]
    late = [
        WORDS.index(word) if word != "late" else 1
        for part in shelf.parts
        for word in re.findall(r"\((\w+)(?: late)?\)", part.words)
    ]
    shown = wall(at=at, zone=ZONE)
    assert walk.late and walk.may and "press" in {item.act for item in board_now.due}
    assert (walk.count, walk.late) == (sum(numbers), sum(late)) == (shown.due, shown.late)
    assert (walk.count, walk.late) == (tally(board_now.due).due, tally(board_now.due).late)
    assert sum(stop.due for stop in walk.places) == walk.count
    said = things(due_by(until=at, at=at), "to do")
    assert said == f"{walk.count} things to do, {walk.late} late"


def test_a_jar_that_is_due_at_the_press_is_not_announced_for_tomorrow_too() -> None:
    """Its target day has come and its window closes tomorrow: one thing to do, today."""
    shop.looked_at(shop.a_jar(at=NOON - 41 * DAY), NOON - 40 * DAY)
    plan_ahead(at=NOON)
    walk = due_rounds(at=NOON, zone=ZONE)
    assert "press" in {group.act for stop in walk.places for group in stop.acts}
    assert "press" not in {item.due.act for day in walk.coming for item in day.items}


def test_the_press_day_is_told_alike_on_shelf_rounds_batch_and_list() -> None:
    """Charged on Sunday 15 February 2026: from 1 March, planned for 15 March, the last day 29 March."""
    batch = shop.looked_at(shop.a_jar(at=NOON - 15 * DAY), NOON - 14 * DAY)
    plan_ahead(at=NOON)
    told = press_told(press_of(shop.steeping(batch), at=NOON), at=NOON, zone=ZONE)  # type: ignore[arg-type]
    assert told.replace("\u00a0", " ") == "on 15 Mar (may be done now, last day 29 Mar)"
    (one,) = shelf_now(NOON).vessels
    assert press_when(one, NOON, ZONE) == told
    assert [item.told for item in due_rounds(at=NOON, zone=ZONE).may] == [told]
    shake = next(item for item in due_now(at=NOON) if item.act == "shake")
    rounds.leave_for_now(due=shake.pk, reason="", by=a_maker(), at=NOON)
    (line,) = batch_lines(NOON, ZONE)["running"]
    assert line.words == f"Press it {told}"

"""A walk: all of a place in one act, entered later from paper, put off, and each of these taken back."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from batches.actions import rounds
from batches.models import StageAct
from batches.queries.rounds import rounds as due_rounds
from batches.queries.rounds import said_today
from tests import builders_shelf as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_shelf import DAY
from workshop.errors import Refused
from workshop.reminders.models import Due, Mark
from workshop.reminders.queries import due_now
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("Europe/London")
AT = NOON + 3 * DAY


@pytest.fixture(autouse=True)
def jars() -> tuple[int, int]:
    """K1 wants its shake; K2 too, and nobody has looked at it since it was charged."""
    a_workshop()
    first = shop.looked_at(shop.a_jar("K1"), NOON + DAY)
    second = shop.a_jar("K2", title="reishi")
    plan_ahead(at=AT)
    return shop.steeping(first).pk, shop.steeping(second).pk


def titles(at: datetime = AT) -> list[str]:
    return [item.title for item in due_now(at=at)]


def the_stop() -> list[str]:
    (stop,) = due_rounds(at=AT, zone=ZONE).places
    return stop.ticks


def test_a_stop_offers_all_that_needs_no_look_at_each(jars: tuple[int, int]) -> None:
    first, second = jars
    assert sorted(the_stop()) == sorted([f"{second}:covered", f"{first}:shake", f"{second}:shake"])
    (stop,) = due_rounds(at=AT, zone=ZONE).places
    assert stop.ticks_words == "2 shaken, 1 looked at"


def test_one_act_each_jar_and_one_tap_takes_them_back(jars: tuple[int, int]) -> None:
    first, second = jars
    pairs = [(first, "shake"), (second, "shake"), (second, "covered")]
    done = rounds.do_all(jars=pairs, by=a_maker(), at=AT)
    assert {(act.stage_id, act.act) for act in done} == set(pairs)
    assert titles() == []
    rounds.take_back(acts=[act.pk for act in done], by=a_maker(), at=AT)
    assert len(titles()) == 3
    assert StageAct.objects.filter(act="undone").count() == 3


def test_all_or_nothing(jars: tuple[int, int]) -> None:
    with pytest.raises(Refused, match="not in the book"):
        rounds.do_all(jars=[(jars[0], "shake"), (987654, "shake")], by=a_maker(), at=AT)
    assert not StageAct.objects.filter(act="shake").exists()
    with pytest.raises(Refused, match="Choose at least one thing"):
        rounds.do_all(jars=[], by=a_maker(), at=AT)


def test_from_the_paper_it_happened_then_and_was_written_down_now(jars: tuple[int, int]) -> None:
    then = AT - timedelta(hours=3)
    (act,) = rounds.do_all(
        jars=[(jars[0], "shake")], by=a_maker(), at=AT, happened_at=then, reason="the power was out"
    )
    assert (act.at, act.recorded_at, act.reason) == (then, AT, "the power was out")
    assert act.caption == "Shaken, from the paper sheet"
    assert titles() and "Shake turkey tail" not in titles()


@pytest.mark.parametrize(
    ("then", "why"), [(AT + DAY, "still to come"), (NOON - DAY, "before this step began")]
)
def test_a_time_that_cannot_be_is_refused(then: datetime, why: str, jars: tuple[int, int]) -> None:
    with pytest.raises(Refused, match=why) as said:
        rounds.do_all(jars=[(jars[0], "shake")], by=a_maker(), at=AT, happened_at=then)
    assert said.value.field == "when"
    assert not StageAct.objects.filter(act="shake").exists()


def test_what_was_put_off_rests_until_then_and_its_slot_stays() -> None:
    (item,) = [one for one in due_now(at=AT) if one.title == "Shake turkey tail"]
    until = AT + timedelta(hours=3)
    rounds.put_off(due=item.pk, until=until, by=a_maker(), at=AT, reason="at the market")
    assert "Shake turkey tail" not in titles()
    assert "Shake turkey tail" in titles(until)
    row = Due.objects.get(pk=item.pk)
    assert (row.slot, row.due_at) == (item.slot, until)


def test_putting_off_is_taken_back_and_both_stand_in_the_book() -> None:
    (item,) = [one for one in due_now(at=AT) if one.title == "Shake turkey tail"]
    rounds.put_off(due=item.pk, until=AT + timedelta(hours=3), by=a_maker(), at=AT)
    (word,) = said_today(at=AT, zone=ZONE)
    assert word.words == "Shake turkey tail: put off" and word.said.stands
    rounds.ask_again(due=item.pk, by=an_owner(), at=AT)
    assert "Shake turkey tail" in titles()
    assert list(Mark.objects.filter(due=item.pk).values_list("what", flat=True)) == ["snoozed", "undone"]
    (word,) = said_today(at=AT, zone=ZONE)
    assert word.words == "Shake turkey tail: taken back, due again" and not word.said.stands
    rounds.ask_again(due=item.pk, by=an_owner(), at=AT)  # twice is once
    assert Mark.objects.filter(due=item.pk).count() == 2


def test_what_was_done_at_a_jar_stands_in_its_story_only(jars: tuple[int, int]) -> None:
    rounds.shake_all(stages=[jars[0]], by=a_maker(), at=AT)
    assert said_today(at=AT, zone=ZONE) == []
    assert StageAct.objects.filter(stage=jars[0], act="shake").count() == 1

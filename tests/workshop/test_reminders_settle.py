"""What people say about dues, once each, and the taking back of it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import SHAKE, a_series, states
from workshop.errors import Refused
from workshop.reminders.models import Due, Mark
from workshop.reminders.queries import board, due_for, due_now, missed_count, oldest_open
from workshop.reminders.rules import Window
from workshop.reminders.series import close_series, plan_ahead
from workshop.reminders.settle import mark_all_done, mark_done, skip, snooze, undo

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
MORNING = NOON + DAY - timedelta(hours=4)  # 3 March 2026, 08:00; the first shake was due at 07:30


@pytest.fixture(autouse=True)
def house() -> None:
    a_workshop()


def test_a_double_tap_marks_once() -> None:
    a_series()
    pk = due_now(at=MORNING)[0].pk
    assert mark_done(due=pk, by=a_maker(), at=MORNING) == pk
    assert mark_done(due=pk, by=an_owner(), at=MORNING + timedelta(seconds=1)) == pk
    assert [mark.by for mark in Mark.objects.all()] == [a_maker()]


def test_a_shake_before_its_hour_counts_for_the_day() -> None:
    a_series()
    early = MORNING - timedelta(hours=2)
    assert mark_done(key=SHAKE, by=a_maker(), at=early) is not None
    assert due_now(at=MORNING) == []
    assert mark_done(key=SHAKE, by=a_maker(), at=early) is None
    assert mark_done(key="nobody", by=a_maker(), at=early) is None


def test_yesterday_s_shake_is_not_tomorrow_s() -> None:
    a_series()
    assert mark_done(key=SHAKE, by=a_maker(), at=NOON) is None


def test_skipping_asks_no_more_and_says_so_to_the_next_hand() -> None:
    a_series()
    pk = due_now(at=MORNING)[0].pk
    skip(due=pk, by=a_maker(), at=MORNING, reason="lid is stuck")
    skip(due=pk, by=an_owner(), at=MORNING)
    assert due_now(at=MORNING) == []
    assert Due.objects.get(pk=pk).note == "lid is stuck"
    with pytest.raises(Refused, match="Linnet Marsh has skipped this one. Take that back first."):
        mark_done(due=pk, by=an_owner(), at=MORNING)
    with pytest.raises(Refused, match="no longer wanted"):
        snooze(due=pk, until=NOON + DAY, by=a_maker(), at=MORNING)


def test_a_done_one_cannot_be_skipped() -> None:
    a_series()
    pk = mark_done(key=SHAKE, by=a_maker(), at=MORNING) or 0
    with pytest.raises(Refused, match="This one is done"):
        skip(due=pk, by=a_maker(), at=MORNING)


def test_what_is_no_longer_wanted_is_refused_in_words() -> None:
    a_series()
    pk = due_now(at=MORNING)[0].pk
    close_series(key=SHAKE, at=MORNING)
    for say in (mark_done, skip, undo):
        with pytest.raises(Refused, match="no longer wanted"):
            say(due=pk, by=a_maker(), at=MORNING)
    with pytest.raises(Refused, match="no longer wanted"):
        mark_done(due=999_999, by=a_maker(), at=MORNING)


def test_putting_off_to_the_past_is_refused_at_the_field() -> None:
    a_series()
    with pytest.raises(Refused, match="still to come") as refusal:
        snooze(due=due_now(at=MORNING)[0].pk, until=MORNING, by=a_maker(), at=MORNING)
    assert refusal.value.field == "until"


def test_undo_brings_back_the_due_and_what_it_had_overtaken() -> None:
    a_series()
    at = MORNING + 2 * DAY
    before = due_now(at=at)
    pk = mark_done(key=SHAKE, by=a_maker(), at=at) or 0
    assert states()[:4] == ["missed", "missed", "done", "open"]
    undo(due=pk, by=a_maker(), at=at)
    undo(due=pk, by=a_maker(), at=at)
    assert due_now(at=at) == before
    assert list(Mark.objects.values_list("what", flat=True)) == ["done", "undone"]


def test_what_was_done_before_its_hour_today_leaves_no_late_one_of_yesterday() -> None:
    """Yesterday's shake was missed: once it is shaken today, before today's hour, that is the quiet tally."""
    a_series()
    early = MORNING + DAY - timedelta(hours=1)  # 06:30; yesterday's has been late since midnight
    (item,) = due_now(at=early)
    assert item.late
    mark_done(key=SHAKE, by=a_maker(), at=early)
    assert states()[:3] == ["missed", "done", "open"]
    assert due_now(at=MORNING + DAY) == []
    assert missed_count(key=SHAKE, at=MORNING + DAY) == 1


def test_what_was_done_while_no_sweep_ran_is_not_asked_for_afterwards() -> None:
    a_series()
    at = MORNING + 40 * DAY  # its rows reached 14 days ahead
    mark_done(key=SHAKE, by=a_maker(), at=at)
    plan_ahead(at=at)
    assert due_now(at=at) == []


def test_a_window_that_has_opened_may_be_used_and_is_not_due() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    opened = board(at=MORNING)
    assert (len(opened.due), [item.kind for item in opened.may]) == (0, ["opens"])
    target = board(at=MORNING + 2 * DAY)
    assert ([item.kind for item in target.due], target.may) == (["target"], [])
    assert oldest_open(before=MORNING, at=MORNING + DAY) == []


def test_undoing_an_older_mark_asks_for_nothing_when_a_later_one_is_done() -> None:
    a_series()
    first = mark_done(key=SHAKE, by=a_maker(), at=MORNING) or 0
    mark_done(key=SHAKE, by=a_maker(), at=MORNING + DAY)
    undo(due=first, by=a_maker(), at=MORNING + DAY)
    assert states()[:3] == ["missed", "done", "open"]
    assert due_now(at=MORNING + DAY) == []


def test_a_mark_of_an_ended_step_stands() -> None:
    a_series()
    pk = mark_done(key=SHAKE, by=a_maker(), at=MORNING) or 0
    close_series(key=SHAKE, at=MORNING)
    with pytest.raises(Refused, match="has ended"):
        undo(due=pk, by=a_maker(), at=MORNING)


def test_a_missed_one_can_be_entered_later_from_the_paper_sheet() -> None:
    a_series()
    first = due_now(at=MORNING)[0].pk
    mark_done(key=SHAKE, by=a_maker(), at=MORNING + DAY)
    mark_done(due=first, by=a_maker(), at=MORNING + DAY, reason="from the sheet")
    assert states()[:3] == ["done", "done", "open"]


def test_pressing_ends_the_whole_window_and_undo_brings_it_back() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    pk = mark_done(key="press", by=a_maker(), at=MORNING) or 0
    assert states("press") == ["done", "dropped", "dropped"]
    undo(due=pk, by=a_maker(), at=MORNING)
    assert states("press") == ["open", "open", "open"]


def test_a_window_s_later_word_replaces_the_earlier_without_a_tally() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    (item,) = due_now(at=MORNING + 3 * DAY)
    assert (item.kind, item.missed) == ("target", 0)


def test_a_whole_place_is_done_in_one_go_or_not_at_all() -> None:
    keys = [f"stage:{number}:shake" for number in range(3)]
    for key in keys:
        a_series(key)
    dues = [item.pk for item in due_now(at=MORNING)]
    skip(due=dues[2], by=an_owner(), at=MORNING)
    with pytest.raises(Refused, match="Rowan Ashby has skipped"):
        mark_all_done(dues=dues, by=a_maker(), at=MORNING)
    assert len(due_for(keys=keys, at=MORNING)) == 2
    assert mark_all_done(dues=dues[:2], by=a_maker(), at=MORNING) == dues[:2]
    assert due_now(at=MORNING) == []


def test_marks_stand_for_good() -> None:
    a_series()
    mark_done(key=SHAKE, by=a_maker(), at=MORNING)
    with pytest.raises(Exception, match="Cannot update or delete"):
        Mark.objects.update(reason="never happened")

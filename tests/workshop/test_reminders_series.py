"""Series and their rows: made once, ahead of time, planned again when the rule or the calendar changes."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction

from tests.builders import NOON, a_maker, a_workshop
from tests.builders_reminders import SHAKE, a_series, states
from workshop.models import Workshop
from workshop.reminders.models import Due, Mark, Series
from workshop.reminders.queries import board, due_now, missed_count, next_due, next_for
from workshop.reminders.rules import After, BadRule, Daily, Every, Window
from workshop.reminders.series import close_series, move_place, open_series, plan_ahead, replan_all
from workshop.reminders.settle import mark_done, skip, snooze, undo

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
# NOON is 2 March 2026, 12:00 in London, where the clocks show UTC until 29 March.
MORNING = NOON + DAY - timedelta(hours=4)  # 3 March, 08:00


@pytest.fixture(autouse=True)
def house() -> Workshop:
    return a_workshop()


def slots_of(key: str = SHAKE, **which: object) -> list[datetime]:
    rows = Due.objects.filter(series__key=key, **which)
    return list(rows.order_by("slot").values_list("slot", flat=True))


def test_it_makes_the_rows_of_two_weeks_at_once() -> None:
    a_series()
    assert slots_of() == [datetime(2026, 3, day, 7, 30, tzinfo=UTC) for day in range(3, 17)]


def test_opening_again_changes_nothing() -> None:
    a_series()
    before = list(Due.objects.values())
    a_series()
    a_series(title="Shake the other one")
    assert list(Due.objects.values()) == before
    assert Series.objects.get().title == "Shake the other one"


def test_another_rule_plans_the_rows_ahead_again_and_keeps_what_is_settled() -> None:
    a_series()
    done = mark_done(key=SHAKE, by=a_maker(), at=MORNING)
    a_series(rule=Daily(every=3, from_day=1), starts_at=NOON, at=MORNING)
    assert Due.objects.get(pk=done).state == "done"
    assert [slot.day for slot in slots_of(state="open")] == [6, 9, 12, 15]


def test_a_rule_that_comes_back_brings_its_rows_back() -> None:
    a_series()
    a_series(rule=Daily(every=3, from_day=1), starts_at=NOON)
    a_series()
    assert len(slots_of(state="open")) == 14


def test_a_row_with_a_mark_is_dropped_instead_of_deleted_and_can_come_back() -> None:
    a_series()
    early = MORNING - timedelta(hours=1)
    pk = mark_done(key=SHAKE, by=a_maker(), at=early)
    assert pk is not None
    undo(due=pk, by=a_maker(), at=early)
    hour = Daily(from_day=1, at=datetime(2026, 1, 1, 9, 0).time())
    a_series(rule=hour, starts_at=NOON, at=early)
    assert Due.objects.get(pk=pk).state == "dropped"
    assert [slot.hour for slot in slots_of(state="open")][:2] == [9, 9]
    assert slots_of(state="open")[0].day == 3
    a_series(at=early, starts_at=NOON)
    assert Due.objects.get(pk=pk).state == "open"
    assert len(slots_of(state="open")) == 14


def test_a_rule_that_makes_no_sense_opens_nothing() -> None:
    with pytest.raises(BadRule):
        open_series(key="x", act="a", title="t", rule={"kind": "moon"}, starts_at=NOON, at=NOON)
    assert not Series.objects.exists()


def test_planning_ahead_makes_each_row_once_however_often_it_runs() -> None:
    a_series()
    assert plan_ahead(at=NOON) == 0
    for hours in range(0, 24 * 20, 5):
        plan_ahead(at=NOON + timedelta(hours=hours))
    slots = slots_of()
    assert [slot.date() for slot in slots] == [date(2026, 3, 3) + n * DAY for n in range(len(slots))]
    assert slots[-1] > NOON + 26 * DAY


def test_the_board_stays_right_for_days_without_any_worker() -> None:
    a_series()
    (item,) = due_now(at=NOON + 10 * DAY)
    assert item.slot.date() == date(2026, 3, 12)
    assert item.missed == 9


def test_after_a_long_outage_the_tally_begins_a_week_back() -> None:
    a_series()
    later = NOON + 60 * DAY
    plan_ahead(at=later)
    (item,) = due_now(at=later)
    # 14 rows were made before the outage, 7 for the week before the return; one of them is due.
    assert item.missed == 20
    assert item.slot.date() == later.date()


def test_a_jar_entered_late_begins_with_today() -> None:
    a_series(starts_at=NOON - 60 * DAY, at=NOON)
    (item,) = due_now(at=NOON)
    assert item.slot.date() == NOON.date()
    assert item.missed == 0


def test_a_closed_series_leaves_the_board_and_can_open_again_as_it_was() -> None:
    a_series()
    at = MORNING + DAY
    before = list(Due.objects.order_by("pk").values("pk", "state", "settled_at"))
    close_series(key=SHAKE, at=at)
    close_series(key=SHAKE, at=at + DAY)
    assert due_now(at=at) == []
    assert set(states()) == {"missed", "dropped"}
    assert states().count("missed") == 1
    a_series(at=at + timedelta(minutes=5), starts_at=NOON)
    assert list(Due.objects.filter(pk__in=[r["pk"] for r in before]).order_by("pk").values(
        "pk", "state", "settled_at"
    )) == before  # fmt: skip


def test_closing_an_unknown_key_is_nothing() -> None:
    close_series(key="nobody", at=NOON)


def test_another_zone_plans_again_and_asks_for_no_day_twice(house: Workshop) -> None:
    a_series()
    mark_done(key=SHAKE, by=a_maker(), at=MORNING)
    Workshop.objects.update(zone="America/New_York")
    assert plan_ahead(at=MORNING + timedelta(minutes=1)) == 1
    assert plan_ahead(at=MORNING + timedelta(minutes=2)) == 0
    # New York, 07:30: 12:30 UTC until 8 March, then 11:30 (tz database).
    rows = slots_of(state="open")
    assert [(slot.day, slot.hour) for slot in rows][:5] == [(4, 12), (5, 12), (6, 12), (7, 12), (8, 11)]
    standing = Due.objects.exclude(state="dropped")
    assert len({row.day for row in standing}) == standing.count() == 14


def test_closed_days_plan_again() -> None:
    a_series()
    Workshop.objects.update(closed_weekdays=[5, 6])
    replan_all(at=NOON)
    assert all(slot.weekday() < 5 for slot in slots_of(state="open"))


def test_a_must_that_a_new_closed_day_moves_into_the_past_is_due_at_once() -> None:
    # The window closes on Thursday 5 March; on the 4th, after hours, the owner closes Thursdays.
    a_series("press", Window(1, 2, 3), act="press")
    Workshop.objects.update(closed_weekdays=[3])
    at = NOON + 2 * DAY
    plan_ahead(at=at)
    (item,) = due_now(at=at)
    assert (item.kind, item.must, item.slot.day) == ("closes", True, 4)


def test_a_press_window_is_known_to_its_end_from_the_first_day() -> None:
    a_series("press", Window(14, 28, 42), act="press")
    kinds = Due.objects.order_by("slot").values_list("kind", flat=True)
    assert list(kinds) == ["opens", "target", "closes"]


def test_a_pressed_jar_is_not_asked_for_again_when_the_zone_changes() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    pk = mark_done(key="press", by=a_maker(), at=MORNING)
    Workshop.objects.update(zone="America/New_York")
    plan_ahead(at=MORNING)
    assert due_now(at=NOON + 30 * DAY) == []
    assert pk is not None
    undo(due=pk, by=a_maker(), at=MORNING)
    plan_ahead(at=MORNING)
    assert [row.kind for row in Due.objects.filter(state="open").order_by("slot")] == [
        "opens",
        "target",
        "closes",
    ]


def test_skipping_the_opening_of_a_window_does_not_skip_its_end() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    skip(due=board(at=MORNING).may[0].pk, by=a_maker(), at=MORNING, reason="too pale")
    Workshop.objects.update(zone="America/New_York")
    plan_ahead(at=MORNING)
    assert due_now(at=MORNING + timedelta(hours=8)) == []
    assert due_now(at=NOON + 12 * DAY)[0].kind == "closes"


def test_more_days_move_the_window() -> None:
    a_series("press", Window(1, 3, 9), act="press")
    a_series("press", Window(5, 10, 20), act="press", at=MORNING, starts_at=NOON)
    assert due_now(at=MORNING) == []
    assert [slot.day for slot in slots_of("press", state="open")] == [7, 12, 22]


def test_one_series_that_cannot_be_planned_stops_no_other() -> None:
    a_series("good")
    bad = a_series("bad")
    Series.objects.filter(pk=bad.pk).update(rule={"kind": "moon"}, plan_next_at=NOON)
    Series.objects.filter(key="good").update(plan_next_at=NOON)
    at = NOON + 8 * DAY
    assert plan_ahead(at=at) == 1
    bad.refresh_from_db()
    assert "moon" in bad.error
    assert bad.plan_next_at == at + timedelta(hours=1)
    assert slots_of("good")[-1] > at + 13 * DAY


@pytest.mark.parametrize("hours", [26, 24 * 365])
def test_a_clock_that_ran_ahead_for_a_while_leaves_no_hole_and_no_double(hours: int) -> None:
    a_series()
    plan_ahead(at=NOON + timedelta(hours=hours))
    plan_ahead(at=NOON - timedelta(hours=2))
    for day in range(1, 30):
        plan_ahead(at=NOON + day * DAY)
    march = [slot for slot in slots_of() if slot < datetime(2026, 4, 1, tzinfo=UTC)]
    assert [slot.day for slot in march] == list(range(3, 32))


def test_the_database_itself_refuses_a_second_row_for_a_slot_or_a_day() -> None:
    series = a_series()
    row = Due.objects.order_by("slot").first()
    assert row is not None
    for slot, name in [
        (row.slot, "one_due_per_slot"),
        (row.slot + timedelta(minutes=1), "one_due_per_local_day"),
    ]:
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            Due.objects.create(series=series, slot=slot, day=row.day, due_at=slot)


def test_the_list_follows_the_walk() -> None:
    for walk, place, act in [(2, "Stove", "watch"), (1, "Top shelf", "shake"), (1, "Top shelf", "check")]:
        a_series(f"{place}:{act}", place=place, act=act, walk=walk)
    assert [(item.place, item.act) for item in due_now(at=MORNING)] == [
        ("Top shelf", "check"),
        ("Top shelf", "shake"),
        ("Stove", "watch"),
    ]
    move_place(was="Stove", place="Hearth", walk=0)
    assert due_now(at=MORNING)[0].place == "Hearth"


def test_the_list_takes_one_query_however_long_it_is(django_assert_num_queries: object) -> None:
    for number in range(30):
        a_series(f"stage:{number}:shake")
    with django_assert_num_queries(1):  # type: ignore[operator]
        assert len(due_now(at=NOON + 9 * DAY)) == 30
    with django_assert_num_queries(1):  # type: ignore[operator]
        assert len(next_for(keys=[f"stage:{n}:shake" for n in range(30)], at=NOON)) == 30


def test_what_comes_next() -> None:
    a_series()
    coming = next_due(key=SHAKE, at=NOON)
    assert coming is not None
    assert (coming.slot.day, coming.late) == (3, False)
    waiting = next_due(key=SHAKE, at=MORNING + DAY)
    assert waiting is not None
    assert (waiting.slot.day, waiting.missed) == (4, 1)
    assert next_due(key="nobody", at=NOON) is None


def test_it_is_late_when_its_day_is_over() -> None:
    a_series(rule=After(24))
    midnight = datetime(2026, 3, 4, tzinfo=UTC)
    assert [item.late for item in due_now(at=midnight - timedelta(seconds=1))] == [False]
    assert [item.late for item in due_now(at=midnight)] == [True]


def test_a_pot_is_late_after_a_quarter_of_an_hour() -> None:
    a_series("pot", Every(60), act="watch")
    first = NOON + timedelta(hours=1)
    assert due_now(at=first - timedelta(minutes=1)) == []
    assert [item.late for item in due_now(at=first + timedelta(minutes=14))] == [False]
    assert [item.late for item in due_now(at=first + timedelta(minutes=15))] == [True]


def test_the_tally_counts_what_was_missed() -> None:
    a_series()
    assert missed_count(key=SHAKE, at=MORNING) == 0
    at = MORNING + 3 * DAY
    assert missed_count(key=SHAKE, at=at) == 3
    mark_done(key=SHAKE, by=a_maker(), at=at)
    assert states()[:5] == ["missed", "missed", "missed", "done", "open"]
    assert missed_count(key=SHAKE, at=at) == 3
    assert due_now(at=at) == []


def test_putting_off_keeps_the_slot_and_hides_the_older_ones_too() -> None:
    a_series()
    at = MORNING + DAY
    (item,) = due_now(at=at)
    snooze(due=item.pk, until=at + timedelta(hours=3), by=a_maker(), at=at)
    assert due_now(at=at + timedelta(hours=2)) == []
    (back,) = due_now(at=at + timedelta(hours=3))
    assert (back.pk, back.slot, back.missed) == (item.pk, item.slot, 1)
    a_series(at=at)
    replan_all(at=at)
    assert Due.objects.get(pk=item.pk).due_at == at + timedelta(hours=3)
    assert Mark.objects.get().what == "snoozed"

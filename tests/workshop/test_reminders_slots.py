"""Slots against an oracle built the other way round: every UTC minute of the days asked, read by zoneinfo.

Clock changes: tz database (the tzdata package). Wall clock: one slot a local day, a time left out in spring
becomes the next minute that exists, a time repeated in autumn counts once, the first time.
"""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from batches.calc import schedule
from workshop.calc.slots import Closed
from workshop.reminders.rules import After, BadRule, Daily, Every, Once, Rule, Window, from_json, to_json
from workshop.reminders.slots import CLOSES, OPENS, TARGET, Calendar, slots

ZONES = ["America/New_York", "Europe/London", "Australia/Lord_Howe", "Pacific/Chatham"]
MINUTE = timedelta(minutes=1)
SUNDAY = frozenset({6})
# 2 March 2026 is a Monday.
MONDAY = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def changes(zone: ZoneInfo) -> list[datetime]:
    """The UTC moments in 2026 and 2027 at which the zone's offset changes, to the minute."""
    at, found = datetime(2026, 1, 1, tzinfo=UTC), []
    hours = [at + timedelta(hours=n) for n in range(2 * 365 * 24)]
    for before, after in zip(hours, hours[1:], strict=False):
        if before.astimezone(zone).utcoffset() != after.astimezone(zone).utcoffset():
            minutes = [before + n * MINUTE for n in range(61)]
            offsets = [moment.astimezone(zone).utcoffset() for moment in minutes]
            found.append(minutes[offsets.index(offsets[-1])])
    return found


def shown(zone: ZoneInfo, first: datetime, last: datetime) -> dict[datetime, datetime]:
    """Each local minute that the zone's clocks show, and the first UTC moment at which they show it."""
    clock: dict[datetime, datetime] = {}
    at = first
    while at <= last:
        clock.setdefault(at.astimezone(zone).replace(tzinfo=None), at)
        at += MINUTE
    return clock


def expected(clock: dict[datetime, datetime], day: date, at: time) -> datetime:
    wanted = datetime.combine(day, at)
    return clock[min(local for local in clock if local >= wanted)]


@pytest.mark.parametrize("name", ZONES)
def test_every_zone_changes_four_times_in_the_two_years(name: str) -> None:
    assert len(changes(ZoneInfo(name))) == 4


@pytest.mark.parametrize("name", ZONES)
def test_a_daily_rule_gives_one_slot_a_local_day_through_every_clock_change(name: str) -> None:
    zone = ZoneInfo(name)
    for change in changes(zone):
        start, end = change - timedelta(days=2), change + timedelta(days=2)
        clock = shown(zone, start - timedelta(days=1), end + timedelta(days=2))
        days = [change.astimezone(zone).date() + timedelta(days=n) for n in (-1, 0, 1)]
        around = [change.astimezone(zone).time().replace(second=0), time(7, 30), time(0, 0), time(23, 59)]
        for at in around + [time(h, m) for h in (1, 2, 3) for m in (0, 1, 15, 30, 45, 59)]:
            found = slots(Daily(at=at), start=start, until=end, calendar=Calendar(zone))
            assert len({slot.day for slot in found}) == len(found)
            by_day = {slot.day: slot.at for slot in found}
            assert [by_day[day] for day in days] == [expected(clock, day, at) for day in days]


@pytest.mark.parametrize("name", ZONES)
def test_a_watch_keeps_its_gap_through_every_clock_change(name: str) -> None:
    zone = ZoneInfo(name)
    for change in changes(zone):
        start = change - timedelta(hours=2)
        found = slots(
            Every(30, hours=5), start=start, until=start + timedelta(days=1), calendar=Calendar(zone)
        )
        assert [slot.at for slot in found] == [start + n * timedelta(minutes=30) for n in range(1, 11)]


def test_hours_after_the_start_are_hours_that_passed() -> None:
    # London, 28 to 29 March 2026: the clocks go forward, 24 h after 20:00 they show 21:00.
    start = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    (slot,) = slots(
        After(24),
        start=start,
        until=start + timedelta(days=9),
        calendar=Calendar(ZoneInfo("Europe/London")),
    )
    assert slot.at - start == timedelta(hours=24)
    assert slot.at.astimezone(ZoneInfo("Europe/London")).hour == 21


def test_a_day_that_was_left_out_whole_is_caught_up_on_the_next() -> None:
    # Apia skipped 30 December 2011 (tz database): its slot is the first minute of the 31st.
    zone = ZoneInfo("Pacific/Apia")
    start = datetime(2011, 12, 29, 12, 0, tzinfo=UTC)
    found = slots(Daily(), start=start, until=start + timedelta(days=3), calendar=Calendar(zone))
    local = [slot.at.astimezone(zone).replace(tzinfo=None) for slot in found]
    assert datetime(2011, 12, 31, 0, 0) in local
    assert datetime(2011, 12, 31, 7, 30) in local


def days_of(rule: Rule, days: int, closed: Closed = Closed()) -> list[int]:  # noqa: B008 - frozen
    """Day numbers, counted from Monday 2 March 2026, in London."""
    calendar = Calendar(ZoneInfo("Europe/London"), closed=closed)
    found = slots(rule, start=MONDAY, until=MONDAY + timedelta(days=days), calendar=calendar)
    return [(slot.day - MONDAY.date()).days for slot in found if slot.day is not None]


def test_it_tapers() -> None:
    assert days_of(Daily(every=3, taper=((4, 1), (4, 2)), from_day=1), 16) == [1, 2, 3, 4, 5, 7, 9, 12, 15]


def test_it_shakes_on_the_same_days_as_the_plan_of_the_batch() -> None:
    rule = Daily(every=4, taper=((6, 1), (7, 2)), from_day=1)
    tapers = [schedule.Taper(1, 1), schedule.Taper(7, 2), schedule.Taper(14, 4)]
    for weekdays in (frozenset(), SUNDAY, frozenset({5, 6})):
        plan = schedule.shake_days(
            charged_on=MONDAY.date(),
            until=MONDAY.date() + timedelta(days=40),
            tapers=tapers,
            closed=schedule.Closed(weekdays=weekdays),
        )
        assert days_of(rule, 40, Closed(weekdays)) == [(day - MONDAY.date()).days for day in plan]


def test_a_shake_on_a_closed_day_is_left_out() -> None:
    assert days_of(Daily(from_day=1), 9, Closed(frozenset({5, 6}))) == [1, 2, 3, 4, 7, 8, 9]


def test_a_weekly_shake_on_a_closed_day_is_done_on_the_next_open_one() -> None:
    assert days_of(Daily(every=7, from_day=6), 21, Closed(SUNDAY)) == [7, 14, 21]


def test_it_keeps_to_its_days_of_the_week() -> None:
    assert days_of(Daily(weekdays=frozenset({1, 4}), from_day=1), 12) == [1, 4, 8, 11]


def test_a_workshop_closed_all_week_is_taken_as_open() -> None:
    assert days_of(Daily(from_day=1), 3, Closed(frozenset(range(7)))) == [1, 2, 3]


def test_what_must_be_done_moves_to_the_open_day_before() -> None:
    # Day 13 is Sunday the 15th, day 20 Sunday the 22nd.
    found = slots(
        Window(13, 20, 27),
        start=MONDAY,
        until=MONDAY + timedelta(days=60),
        calendar=Calendar(ZoneInfo("Europe/London"), closed=Closed(SUNDAY)),
    )
    assert [(slot.kind, (slot.day - MONDAY.date()).days) for slot in found if slot.day] == [
        (OPENS, 14),
        (TARGET, 21),
        (CLOSES, 26),
    ]


@pytest.mark.parametrize("weekdays", [(), (6,), (5, 6), (0, 2, 4), (0, 1, 2, 3, 4, 5)])
def test_a_window_has_the_days_of_the_batch_s_plan(weekdays: tuple[int, ...]) -> None:
    zone = ZoneInfo("Europe/London")
    for opens, target, closes in [(14, 28, 42), (1, 1, 2), (6, 6, 6), (5, 6, None)]:
        plan = schedule.press_window(
            charged_on=MONDAY.date(),
            min_days=opens,
            target_days=target,
            max_days=closes,
            at=time(7, 30),
            zone=zone,
            closed=schedule.Closed(weekdays=frozenset(weekdays)),
        )
        calendar = Calendar(zone, closed=Closed(frozenset(weekdays)))
        found = slots(
            Window(opens, target, closes),
            start=MONDAY,
            until=MONDAY + timedelta(days=99),
            calendar=calendar,
        )
        assert {slot.at for slot in found} == {plan.opens, plan.target, plan.closes} - {None}
        assert found[-1].kind == (CLOSES if closes else TARGET)


def test_a_window_that_closed_before_its_series_began_is_due_at_once() -> None:
    # Charged at 09:00; a window of day 0 has its hour, 07:30, behind it.
    found = slots(
        Window(0, 0, 0),
        start=MONDAY,
        until=MONDAY + timedelta(days=1),
        calendar=Calendar(ZoneInfo("Europe/London")),
    )
    assert [(slot.kind, slot.at) for slot in found] == [(CLOSES, MONDAY)]


def test_a_single_act_on_a_closed_day() -> None:
    sunday = datetime(2026, 3, 8, 15, 0, tzinfo=UTC)
    calendar = Calendar(ZoneInfo("Europe/London"), closed=Closed(SUNDAY))
    until = MONDAY + timedelta(days=30)
    (after,) = slots(Once(sunday), start=MONDAY, until=until, calendar=calendar)
    (before,) = slots(Once(sunday, must=True), start=MONDAY, until=until, calendar=calendar)
    assert after.at == datetime(2026, 3, 9, 7, 30, tzinfo=UTC)
    assert before.at == datetime(2026, 3, 7, 7, 30, tzinfo=UTC)


RULES: list[Rule] = [
    Daily(),
    Daily(every=2, at=time(16, 5), taper=((7, 1), (14, 2)), from_day=1, weekdays=frozenset({0, 3})),
    Once(datetime(2026, 3, 8, 15, 0, tzinfo=UTC), must=True),
    After(24),
    Window(14, 28, None),
    Window(14, 28, 42, at=time(9, 0)),
    Every(30),
    Every(15, hours=6.5),
]


@pytest.mark.parametrize("rule", RULES)
def test_a_rule_comes_back_from_its_document(rule: Rule) -> None:
    assert from_json(to_json(rule)) == rule


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"kind": "lunar"},
        {"kind": "daily", "every": 0},
        {"kind": "daily", "every": True},
        {"kind": "daily", "at": "25:00"},
        {"kind": "daily", "taper": [[1]]},
        {"kind": "daily", "weekdays": [7]},
        {"kind": "daily", "days": 3},
        {"kind": "window", "opens": 14, "target": 7},
        {"kind": "window", "opens": 1, "target": 2, "closes": 1},
        {"kind": "every", "minutes": 1},
        {"kind": "once", "at": "2026-03-08T15:00"},
        {"kind": "after", "hours": -1},
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(document: dict[str, object]) -> None:
    with pytest.raises(BadRule):
        from_json(document)


def test_rules_and_slots_load_no_framework() -> None:
    code = "import sys, workshop.reminders.slots; sys.exit('django' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

"""Slots and windows: the workshop's clock kept over every clock change, stored in UTC.

Clock changes are those of the tz database (New York, London, Lord Howe, Chatham, 2026 and 2027; Apia 2011).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.calc.errors import OutOfRange
from batches.calc.schedule import (
    Closed,
    Taper,
    day_number,
    days_later,
    local_day,
    minutes_later,
    press_window,
    shake_days,
    shake_slots,
    slot_utc,
)

ZONES = ["America/New_York", "Europe/London", "Australia/Lord_Howe", "Pacific/Chatham", "UTC"]
LONDON = ZoneInfo("Europe/London")
MONDAY = date(2026, 6, 1)
DAILY = [Taper(0, 1)]


@pytest.mark.parametrize(
    ("zone", "day", "at", "expected"),
    [
        ("Europe/London", date(2026, 7, 1), time(9, 0), "2026-07-01T08:00"),
        ("Europe/London", date(2026, 12, 1), time(9, 0), "2026-12-01T09:00"),
        # Skipped: London 29 March 2026 01:00-02:00; the first minute after is 02:00 BST = 01:00 UTC.
        ("Europe/London", date(2026, 3, 29), time(1, 30), "2026-03-29T01:00"),
        # Twice: London 25 October 2026 01:00-02:00; the first is BST.
        ("Europe/London", date(2026, 10, 25), time(1, 30), "2026-10-25T00:30"),
        ("America/New_York", date(2026, 3, 8), time(2, 30), "2026-03-08T07:00"),
        ("America/New_York", date(2026, 11, 1), time(1, 30), "2026-11-01T05:30"),
        # Lord Howe moves by half an hour: 4 October 2026 02:00-02:30 is skipped, +10:30 to +11.
        ("Australia/Lord_Howe", date(2026, 10, 4), time(2, 15), "2026-10-03T15:30"),
        ("Australia/Lord_Howe", date(2026, 4, 5), time(1, 45), "2026-04-04T14:45"),
        # Chatham: 27 September 2026 02:45-03:45 is skipped, +12:45 to +13:45.
        ("Pacific/Chatham", date(2026, 9, 27), time(3, 0), "2026-09-26T14:00"),
        # Apia skipped the whole of 30 December 2011.
        ("Pacific/Apia", date(2011, 12, 30), time(9, 0), "2011-12-30T10:00"),
    ],
)
def test_a_slot_is_the_workshops_own_hour(zone: str, day: date, at: time, expected: str) -> None:
    found = slot_utc(day, at, ZoneInfo(zone))
    assert found == datetime.fromisoformat(expected).replace(tzinfo=UTC)
    assert found.tzinfo is UTC


@pytest.mark.parametrize("zone", ZONES)
def test_one_slot_for_each_day_of_two_years(zone: str) -> None:
    """At 08:00, which no zone here skips: every local day once, always at 08:00."""
    here = ZoneInfo(zone)
    slots = shake_slots(
        charged_on=date(2025, 12, 31), until=date(2027, 12, 31), tapers=DAILY, at=time(8), zone=here
    )
    local = [slot.astimezone(here) for slot in slots]
    assert len(slots) == 730
    assert {moment.time() for moment in local} == {time(8)}
    assert [moment.date() for moment in local] == [date(2026, 1, 1) + timedelta(days=i) for i in range(730)]
    gaps = {b - a for a, b in zip(slots, slots[1:], strict=False)}
    assert (gaps == {timedelta(days=1)}) == (zone == "UTC")


def shown_by_the_clock(day: date, at: time, zone: ZoneInfo) -> datetime:
    """By watching the clock minute by minute: when it first shows `at`, else the first minute past it."""
    wanted = datetime.combine(day, at)
    start = datetime.combine(day - timedelta(days=1), time(6), UTC)
    minutes = [start + timedelta(minutes=i) for i in range(60 * 60)]
    shown = {m: m.astimezone(zone).replace(tzinfo=None) for m in minutes}
    exact = [m for m in minutes if shown[m] == wanted]
    return exact[0] if exact else min((m for m in minutes if shown[m] > wanted), key=lambda m: shown[m])


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Europe/London", date(2026, 3, 29)),
        ("Europe/London", date(2027, 10, 31)),
        ("America/New_York", date(2026, 3, 8)),
        ("America/New_York", date(2027, 11, 7)),
        ("Australia/Lord_Howe", date(2026, 10, 4)),
        ("Australia/Lord_Howe", date(2027, 4, 4)),
        ("Pacific/Chatham", date(2026, 9, 27)),
        ("Pacific/Chatham", date(2027, 4, 4)),
    ],
)
def test_in_the_hours_that_change_the_slot_is_what_the_clock_shows(zone: str, day: date) -> None:
    here = ZoneInfo(zone)
    for at in (time(h, m) for h in (1, 2, 3) for m in (0, 10, 45)):
        assert slot_utc(day, at, here) == shown_by_the_clock(day, at, here)


def test_shaking_eases_off() -> None:
    """Daily in the first week, then every second day (common practice)."""
    found = shake_days(
        charged_on=MONDAY, until=MONDAY + timedelta(days=14), tapers=[Taper(0, 1), Taper(7, 2)]
    )
    assert [(day - MONDAY).days for day in found] == [1, 2, 3, 4, 5, 6, 7, 9, 11, 13]


def test_no_shaking_where_the_formula_says_none() -> None:
    assert shake_days(charged_on=MONDAY, until=MONDAY + timedelta(days=28), tapers=[]) == []


def test_shaking_may_begin_late() -> None:
    found = shake_days(charged_on=MONDAY, until=MONDAY + timedelta(days=9), tapers=[Taper(7, 1)])
    assert [(day - MONDAY).days for day in found] == [7, 8, 9]


def test_a_closed_days_shake_is_done_on_the_next_open_day() -> None:
    weekend = Closed(weekdays=frozenset({5, 6}))
    found = shake_days(charged_on=MONDAY, until=MONDAY + timedelta(days=8), tapers=DAILY, closed=weekend)
    assert [(day - MONDAY).days for day in found] == [1, 2, 3, 4, 7, 8]


@given(
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    st.integers(0, 60),
    st.integers(1, 5),
    st.frozensets(st.integers(0, 6), max_size=6),
)
def test_no_shake_falls_on_a_closed_day(start: date, days: int, every: int, weekdays: frozenset[int]) -> None:
    closed, until = Closed(weekdays=weekdays), start + timedelta(days=days)
    found = shake_days(charged_on=start, until=until, tapers=[Taper(0, every)], closed=closed)
    assert all(day not in closed and start < day <= until for day in found)
    assert found == sorted(set(found))


def test_the_press_window_of_a_month() -> None:
    found = press_window(charged_on=MONDAY, min_days=14, target_days=28, max_days=42, at=time(9), zone=LONDON)
    assert (found.opens_on, found.target_on, found.closes_on) == (
        date(2026, 6, 15), date(2026, 6, 29), date(2026, 7, 13),
    )  # fmt: skip
    assert found.target == datetime(2026, 6, 29, 8, tzinfo=UTC)


def test_the_press_window_moves_off_closed_days() -> None:
    closed = Closed(
        dates=frozenset({date(2026, 6, 15), date(2026, 6, 29), date(2026, 7, 13), date(2026, 7, 12)})
    )
    found = press_window(
        charged_on=MONDAY, min_days=14, target_days=28, max_days=42, at=time(9), zone=LONDON, closed=closed
    )
    assert (found.opens_on, found.target_on, found.closes_on) == (
        date(2026, 6, 16), date(2026, 6, 30), date(2026, 7, 11),
    )  # fmt: skip


def test_a_window_may_never_close() -> None:
    found = press_window(
        charged_on=MONDAY, min_days=14, target_days=28, max_days=None, at=time(9), zone=LONDON
    )
    assert (found.closes_on, found.closes) == (None, None)


@given(
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    st.integers(0, 30),
    st.integers(0, 30),
    st.integers(0, 30),
    st.frozensets(st.integers(0, 6), max_size=6),
)
def test_the_press_window_stays_in_order(
    start: date, least: int, more: int, most: int, weekdays: frozenset[int]
) -> None:
    found = press_window(
        charged_on=start,
        min_days=least,
        target_days=least + more,
        max_days=least + more + most,
        at=time(9),
        zone=LONDON,
        closed=Closed(weekdays=weekdays),
    )
    assert found.closes is not None
    assert found.opens <= found.target <= found.closes


def test_day_nine_is_nine_midnights_later_even_over_a_clock_change() -> None:
    charged = datetime(2026, 3, 20, 23, 30, tzinfo=UTC)
    assert day_number(charged, datetime(2026, 3, 29, 23, 30, tzinfo=UTC), LONDON) == 10
    assert day_number(charged, datetime(2026, 3, 29, 22, 59, tzinfo=UTC), LONDON) == 9
    assert local_day(datetime(2026, 3, 29, 23, 30, tzinfo=UTC), LONDON) == date(2026, 3, 30)


def test_the_pot_counts_elapsed_minutes() -> None:
    """20:00 to 08:00 over New York's autumn change is 13 hours."""
    here = ZoneInfo("America/New_York")
    evening = datetime(2026, 10, 31, 20, tzinfo=here)
    assert minutes_later(evening, 13 * 60).astimezone(here) == datetime(2026, 11, 1, 8, tzinfo=here)


def test_a_day_later_is_the_next_open_day() -> None:
    weekend = Closed(weekdays=frozenset({5, 6}))
    friday = date(2026, 6, 5)
    found = days_later(day=friday, days=1, at=time(9), zone=LONDON, closed=weekend)
    assert found == datetime(2026, 6, 8, 8, tzinfo=UTC)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: shake_days(charged_on=MONDAY, until=MONDAY, tapers=[Taper(7, 1), Taper(0, 1)]),
            "Shaking eases off in steps",
        ),
        (lambda: shake_days(charged_on=MONDAY, until=MONDAY, tapers=[Taper(0, 0)]), "every one day or more"),
        (
            lambda: press_window(
                charged_on=MONDAY, min_days=14, target_days=7, max_days=None, at=time(9), zone=LONDON
            ),
            "The press window needs least, target and most days in that order.",
        ),
        (
            lambda: press_window(
                charged_on=MONDAY, min_days=7, target_days=14, max_days=10, at=time(9), zone=LONDON
            ),
            "in that order",
        ),
        (
            lambda: days_later(day=MONDAY, days=-1, at=time(9), zone=LONDON),
            "A reminder lies ahead: 0 days or more.",
        ),
        (lambda: minutes_later(datetime(2026, 6, 1), 5), "A moment needs its time zone."),
        (lambda: local_day(datetime(2026, 6, 1), LONDON), "A moment needs its time zone."),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

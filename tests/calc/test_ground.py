"""The sums of the ground floor: repeating a figure by hand, roots, slots and words."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

import pytest
from pytest import approx

from workshop.calc.errors import OutOfRange
from workshop.calc.repeat import digits_to_repeat, work_out
from workshop.calc.roots import find_root
from workshop.calc.rounding import tie
from workshop.calc.slots import Closed, local_day, midnight_after, slot_utc
from workshop.calc.working import Figure, Input, Working


def figure(value: float, formula: str, *inputs: tuple[str, float, int], digits: int = 0) -> Figure:
    shown = tuple(Input(symbol, symbol, number, "mL", places) for symbol, number, places in inputs)
    return Figure("A figure", value, "mL", digits, Working(formula, "Words.", shown, "arithmetic"))


@pytest.mark.parametrize(
    ("formula", "value"),
    [("a + b * 2", 9.0), ("(a - b) / 2", -1.0), ("-a + b ** 2", 13.0), ("1.5", 1.5), ("- (a)", -3.0)],
)
def test_displayed_arithmetic_is_worked_out(formula: str, value: float) -> None:
    symbols = {"a": 3.0, "b": 4.0 if "**" in formula else 3.0 if formula == "a + b * 2" else 5.0}
    assert work_out(formula, symbols) == approx(value)


@pytest.mark.parametrize(
    "trick", ["c", "f(1)", "a if a else 1", "a // 2", "+a", "'a'", "True", "a.real", "~a"]
)
def test_nothing_but_arithmetic_is_worked_out(trick: str) -> None:
    with pytest.raises(ValueError, match=r"Not plain arithmetic: .*\."):
        work_out(trick, {"a": 1.0})


def test_inputs_that_suffice_keep_their_digits() -> None:
    assert digits_to_repeat(figure(6.0, "a * b", ("a", 2.0, 0), ("b", 3.0, 1))) == (0, 1)


def test_the_input_that_moves_it_most_is_shown_finer() -> None:
    """1000 * 0.946 is 946; with 0.9 as shown it would be 900: two more places of r, none of V."""
    assert digits_to_repeat(figure(946.0, "V * r", ("V", 1000.0, 0), ("r", 0.946, 1))) == (0, 3)


def test_a_figure_that_never_repeats_keeps_its_digits() -> None:
    assert digits_to_repeat(figure(7.0, "a * b", ("a", 2.0, 0), ("b", 3.0, 1))) == (0, 1)


def test_a_formula_that_breaks_keeps_its_digits() -> None:
    assert digits_to_repeat(figure(1.0, "a / b", ("a", 1.0, 0), ("b", 0.0, 2))) == (0, 2)
    assert digits_to_repeat(figure(1.0, "a(b)", ("a", 1.0, 0), ("b", 0.0, 2))) == (0, 2)
    assert digits_to_repeat(figure(2.0, "a / b", ("a", 0.02, 0), ("b", 0.01, 0))) == (0, 0), "0 as shown"


def test_there_is_an_end_to_finer_digits() -> None:
    """Thirds never end: at nine places each it stops, whether or not the last digit repeats."""
    third = 1.0 / 3.0
    found = digits_to_repeat(figure(third * 3e12, "a * 3000000000000", ("a", third, 0), digits=3))
    assert found == (9,)


def test_an_irrational_root_and_where_there_is_none() -> None:
    """The square root of 2 (Ridders 1979 converges quadratically); no root of x squared + 1."""
    assert find_root(lambda x: x * x - 2.0, 0.0, 2.0) == approx(2.0**0.5, abs=1e-12)
    assert find_root(lambda x: x - 1.0, 0.0, 2.0) == 1.0
    assert find_root(lambda x: x, 0.0, 2.0) == 0.0 and find_root(lambda x: x - 2.0, 0.0, 2.0) == 2.0
    with pytest.raises(OutOfRange):
        find_root(lambda x: x * x + 1.0, -1.0, 1.0)


def test_a_root_that_is_never_met_to_the_last_digit_is_still_near() -> None:
    assert find_root(lambda x: x**3 - 2.0, 0.0, 2.0, tolerance=0.0) == approx(2.0 ** (1 / 3), abs=1e-12)
    step = find_root(lambda x: -1.0 if x < 1 / 3 else 1.0, 0.0, 2.0, tolerance=-1.0)
    assert step == approx(1 / 3, abs=1e-12), "a jump has no root; the search ends all the same"


def test_a_number_and_its_unit_hold_together() -> None:
    assert tie("71 to 82 °C and 20 g") == "71 to 82\u00a0°C and 20\u00a0g"


class Never(tzinfo):
    """A zone whose clocks never show what was asked."""

    def utcoffset(self, when: datetime | None) -> timedelta:
        return timedelta(hours=1) if when is not None and when.minute % 2 else timedelta(hours=2, minutes=1)

    def dst(self, when: datetime | None) -> timedelta:
        return timedelta(0)

    def tzname(self, when: datetime | None) -> str:
        return "never"

    def fromutc(self, when: datetime) -> datetime:
        return when + timedelta(days=1000)


def test_a_time_that_no_clock_shows_is_refused() -> None:
    with pytest.raises(ValueError, match="does not exist"):
        slot_utc(date(2026, 3, 2), time(9), Never())


def test_a_day_is_the_workshops_own() -> None:
    """Half past nine in the evening of Greenwich is the next day in New Zealand (tz database)."""
    at = datetime(2026, 3, 2, 21, 30, tzinfo=UTC)
    assert local_day(at, ZoneInfo("Pacific/Auckland")) == date(2026, 3, 3)
    assert midnight_after(date(2026, 3, 2), ZoneInfo("Europe/London")) == datetime(2026, 3, 3, tzinfo=UTC)


def test_a_year_of_closed_days_closes_nothing() -> None:
    first = date(2026, 3, 2)
    closed = Closed(dates=frozenset(first + timedelta(days=n) for n in range(-400, 401)))
    assert closed.next_open(first) == first and closed.last_open(first) == first
    monday = Closed(weekdays=frozenset({0}))
    assert monday.next_open(first) == date(2026, 3, 3) and monday.last_open(first) == date(2026, 3, 1)

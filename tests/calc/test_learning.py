"""Shrunk means and values that lie far off, against worked arithmetic and a published rule."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.learning import Learned, Prior, far_off, learn
from workshop.calc.errors import OutOfRange

HELD = Prior(0.8, 1.5, 0.15, "hand-wrung cloth: common practice, no source")
values = st.lists(st.floats(0.1, 5.0), min_size=1, max_size=30)


def learned(found: list[float]) -> Learned:
    return learn(name="Held back", unit="mL/g", digits=2, prior=HELD, values=found)


def test_own_runs_and_the_range_weigh_by_how_sure_they_are() -> None:
    """Normal mean with a normal prior, worked by hand: DeGroot 1970, 9.5 (from memory).

    Prior 1.15 with 0.175; runs 0.95, 1.02, 0.91: mean 0.96, squares 0.0062, pooled scatter
    sqrt((4 * 0.0225 + 0.0062) / 6) = 0.12662; weights 187.11 and 32.653: 0.98823.
    """
    found = learned([0.95, 1.02, 0.91])
    assert (HELD.mean, HELD.between) == (approx(1.15), approx(0.175))
    assert (found.n, found.mean) == (3, approx(0.96))
    assert found.spread == approx(0.126623, abs=1e-6)
    assert found.estimate == approx(0.98823, abs=1e-5)
    reach = 2 * (0.126623**2 + 1 / (187.11 + 32.653)) ** 0.5
    assert (found.low, found.high) == (approx(0.98823 - reach, abs=1e-4), approx(0.98823 + reach, abs=1e-4))


def test_three_runs_are_enough_and_two_are_not() -> None:
    assert not learned([1.0, 1.0]).enough
    assert learned([1.0, 1.0, 1.0]).enough


def test_the_next_run_is_not_below_nothing() -> None:
    assert learned([0.1, 0.1, 0.1]).low == approx(0.0)
    below = Prior(-2.0, 2.0, 1.0, "a trial")
    assert learn(name="Drift", unit="°C", digits=1, prior=below, values=[0.0]).low < 0


@given(values)
def test_the_estimate_lies_between_the_own_mean_and_the_range(found: list[float]) -> None:
    own = learned(found)
    least, most = sorted((own.mean, HELD.mean))
    assert least - 1e-9 <= own.estimate <= most + 1e-9
    assert own.low <= own.estimate <= own.high


@given(st.floats(0.2, 3.0), st.integers(1, 40))
def test_more_runs_bring_it_nearer_to_the_own_mean(value: float, n: int) -> None:
    near, nearer = learned([value] * n), learned([value] * (n + 1))
    assert abs(nearer.estimate - value) <= abs(near.estimate - value) + 1e-12


def test_a_far_value_by_the_published_rule() -> None:
    """Modified z-score above 3.5 (Iglewicz and Hoaglin 1993; NIST/SEMATECH e-Handbook 1.3.5.17).

    1.0, 1.1, 0.9, 1.0, 2.0: median 1.0, MAD 0.1; 0.6745 * 1.0 / 0.1 = 6.7.
    """
    assert far_off([1.0, 1.1, 0.9, 1.0, 2.0]) == (False, False, False, False, True)
    assert far_off([1.0, 1.1, 0.9, 1.0, 1.5]) == (False, False, False, False, False)  # 3.37
    assert far_off([1.0, 1.1, 0.9, 1.0, 1.53]) == (False, False, False, False, True)  # 3.57


def test_where_most_values_agree_the_mean_deviation_is_the_scale() -> None:
    """Same authors: 1.253314 times the mean deviation stands in for a median deviation of 0."""
    assert far_off([1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 4.0]) == (*(False,) * 6, True)  # 3 / (3 / 7 * 1.2533) = 5.6
    assert far_off([1.0] * 5) == (False,) * 5


def test_three_values_tell_nobody_off() -> None:
    assert far_off([1.0, 1.0, 9.0]) == (False, False, False)
    assert far_off([]) == ()


@pytest.mark.parametrize("found", [[], [float("nan")], [1.0, float("inf")]])
def test_it_refuses_what_is_no_run(found: list[float]) -> None:
    with pytest.raises(OutOfRange):
        learned(found)


@pytest.mark.parametrize(("low", "high", "scatter"), [(1.0, 1.0, 0.1), (2.0, 1.0, 0.1), (1.0, 2.0, 0.0)])
def test_a_range_makes_sense(low: float, high: float, scatter: float) -> None:
    with pytest.raises(OutOfRange):
        Prior(low, high, scatter, "a trial")

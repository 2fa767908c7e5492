"""How sure: the linear rule against closed forms and against seeded random draws."""

from __future__ import annotations

import random
from math import sqrt
from statistics import stdev

import pytest
from pytest import approx

from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend, with_plant_water
from batches.calc.uncertain import Known, combined_strength, jar_strength, propagate

DRAWS = 20_000


def test_a_sum_adds_in_squares() -> None:
    """JCGM 100:2008 (GUM), equation 10: u2 = u(a)2 + u(b)2."""
    found = propagate(lambda a, b: a + b, {"a": Known(10, 3), "b": Known(20, 4)})
    assert (found.value, found.u) == (30, approx(5))
    assert found.shares == approx({"a": 9 / 25, "b": 16 / 25})
    assert (found.low, found.high, found.chief) == (approx(20), approx(40), "b")


def test_a_product_adds_relative_squares() -> None:
    """JCGM 100:2008 (GUM) 5.1.6, equation 12."""
    found = propagate(lambda a, b: a * b, {"a": Known(10, 0.1), "b": Known(20, 0.4)})
    assert found.u / found.value == approx(sqrt(0.01**2 + 0.02**2))


def test_exact_inputs_leave_nothing_unsure() -> None:
    found = propagate(lambda a: 2 * a, {"a": Known(10)})
    assert (found.u, found.chief, found.shares) == (0, "", {"a": 0})


def test_a_negative_uncertainty_is_refused() -> None:
    with pytest.raises(OutOfRange, match="An uncertainty must be 0 or more, not -1."):
        propagate(lambda a: a, {"a": Known(1, -1)})


@pytest.mark.parametrize("moisture", [0.0, 1.0])
def test_at_the_edge_of_the_range_one_side_is_enough(moisture: float) -> None:
    found = jar_strength(
        volume_ml=Known(900), abv=Known(80), herb_g=Known(180), moisture=Known(moisture, 0.02)
    )
    inner = 0.02 if moisture == 0.0 else 0.98
    other = with_plant_water(900, 80, 180, inner).abv
    assert found.u == approx(abs(other - found.value))


def test_the_jar_agrees_with_random_draws() -> None:
    known = {
        "volume_ml": Known(900, 5), "abv": Known(80, 0.3), "herb_g": Known(180, 0.5),
        "moisture": Known(0.09, 0.02),
    }  # fmt: skip
    dice = random.Random(20260701)
    drawn = [with_plant_water(*(dice.gauss(k.value, k.u) for k in known.values())).abv for _ in range(DRAWS)]
    found = jar_strength(**known)
    assert found.value == approx(78.69, abs=0.005)
    assert found.u == approx(stdev(drawn), rel=0.05)
    assert found.chief == "abv"


def test_the_combined_liquid_agrees_with_random_draws() -> None:
    known = {
        "tincture_ml": Known(760, 5), "abv": Known(78.69, 0.41), "extract_ml": Known(1407, 15),
        "extract_abv": Known(0.5, 0.1),
    }  # fmt: skip
    dice = random.Random(20260702)
    drawn = []
    for _ in range(DRAWS):
        t, a, e, x = (dice.gauss(k.value, k.u) for k in known.values())
        drawn.append(blend([(t, a), (e, x)]).abv)
    found = combined_strength(**known)
    assert found.u == approx(stdev(drawn), rel=0.05)
    assert sum(found.shares.values()) == approx(1)

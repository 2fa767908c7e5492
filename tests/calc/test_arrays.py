"""Densities by the array against the printed tables of OIML R 22, and against the scalar everywhere else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from batches.calc.alcohol import density
from batches.calc.arrays import BLOCK, densities
from batches.calc.errors import OutOfRange

np = pytest.importorskip("numpy")
CASES = json.loads(Path(__file__).with_name("alcohol_cases.json").read_text("utf-8"))
TABLES = [case for case in CASES if case["what"] == "density_from_mass_percent"]  # each names its source


def test_the_printed_densities() -> None:
    percent = np.array([case["inputs"]["mass_percent"] for case in TABLES])
    celsius = np.array([case["inputs"]["temp_c"] for case in TABLES])
    printed = np.array([case["expected"] for case in TABLES])
    off = np.abs(densities(percent / 100, celsius) - printed)
    assert len(TABLES) == 40
    assert (off <= [case["tolerance"] for case in TABLES]).all()


def test_the_same_as_one_by_one_over_several_blocks() -> None:
    chance = np.random.default_rng(7)
    p, t = chance.random(2 * BLOCK + 5), chance.uniform(0, 40, 2 * BLOCK + 5)
    found = densities(p, t)
    for at in range(0, len(p), 501):
        assert found[at] == pytest.approx(density(float(p[at]), float(t[at])), rel=1e-14)
    assert found[-1] == pytest.approx(density(float(p[-1]), float(t[-1])), rel=1e-14)


def test_shapes_are_broadcast() -> None:
    found = densities(np.linspace(0, 1, 3)[:, None], [10.0, 20.0])
    assert found.shape == (3, 2)
    assert found[1, 1] == pytest.approx(density(0.5, 20.0), rel=1e-14)
    assert float(densities(0.5, 20.0)) == pytest.approx(density(0.5, 20.0), rel=1e-14)
    assert densities([], 20.0).size == 0


@pytest.mark.parametrize(
    ("share", "celsius"),
    [(-0.001, 20.0), (1.001, 20.0), (float("nan"), 20.0), (0.5, 40.1), (0.5, -20.1), (0.5, float("nan"))],
)
def test_one_element_out_of_range_refuses_all(share: float, celsius: float) -> None:
    with pytest.raises(OutOfRange):
        densities([0.5, share], [20.0, celsius])


def test_a_frozen_one_is_refused_as_the_scalar_refuses_it() -> None:
    for share, celsius in ((0.05, -10.0), (0.24, -18.0), (0.0, -2.0)):
        with pytest.raises(OutOfRange):
            density(share, celsius)
        with pytest.raises(OutOfRange):
            densities([share], [celsius])
    assert densities([0.4], [-20.0])[0] == pytest.approx(density(0.4, -20.0), rel=1e-14)

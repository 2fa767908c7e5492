"""The drip of a percolator, against USP <565> (1 to 3 mL/min for 1000 g of drug, moderate)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.drip import read_drip, wanted_drip
from batches.calc.errors import OutOfRange

some = st.floats(0.01, 1e5)


def test_t06_200_g_at_45_drops() -> None:
    """0.2 to 0.6 mL/min, 9 to 27 drops/min; 1,000 mL takes 83.3 down to 27.8 h."""
    found = wanted_drip(herb_g=200, volume_ml=1000, drops_per_ml=45)
    assert (found.low_ml_min, found.high_ml_min) == (approx(0.2), approx(0.6))
    assert (found.low_drops_min, found.high_drops_min) == (approx(9), approx(27))
    assert (found.slow_hours, found.fast_hours) == (approx(83.3, abs=0.05), approx(27.8, abs=0.05))


def test_t07_a_kilogram_and_five_litres_take_as_long() -> None:
    found = wanted_drip(herb_g=1000, volume_ml=5000, drops_per_ml=45)
    assert (found.slow_hours, found.fast_hours) == (approx(83.3, abs=0.05), approx(27.8, abs=0.05))


@given(herb=some, volume=some, drops=st.floats(5, 100))
def test_the_slow_end_takes_three_times_as_long(herb: float, volume: float, drops: float) -> None:
    found = wanted_drip(herb_g=herb, volume_ml=volume, drops_per_ml=drops)
    assert found.slow_hours == approx(3 * found.fast_hours)
    read = read_drip(minutes=1, ml=found.high_ml_min, drops_per_ml=drops, volume_ml=volume)
    assert read.hours == approx(found.fast_hours)


@given(count=st.integers(1, 10_000), minutes=st.floats(0.1, 100), drops=st.floats(5, 100), volume=some)
def test_drops_counted_come_back_as_drops(count: int, minutes: float, drops: float, volume: float) -> None:
    read = read_drip(minutes=minutes, drops=count, drops_per_ml=drops, volume_ml=volume)
    assert read.drops_min == approx(count / minutes)
    assert read.ml_min * drops == approx(read.drops_min)
    assert read.hours * 60 * read.ml_min == approx(volume)


def test_millilitres_go_before_drops() -> None:
    read = read_drip(minutes=10, ml=4, drops=120, drops_per_ml=30, volume_ml=100)
    assert (read.ml_min, read.drops) == (approx(0.4), None)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"herb_g": 0}, "The herb must be more than 0"),
        ({"volume_ml": -1}, "What is still to come must be 0 or more"),
        ({"drops_per_ml": 0}, "The drops in a millilitre must be more than 0"),
        ({"slow": 0}, "The slow end must be more than 0"),
        ({"slow": 3, "fast": 1}, "The fast end of a drip is not below its slow end"),
    ],
)
def test_what_no_drip_can_be_is_refused(changes: dict[str, float], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        wanted_drip(**({"herb_g": 200.0, "volume_ml": 1000.0, "drops_per_ml": 45.0} | changes))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"ml": None}, "read in millilitres or in drops"),
        ({"minutes": 0.0}, "The time of a reading must be more than 0"),
        ({"ml": 0.0}, "What dripped must be more than 0"),
        ({"drops_per_ml": 0.0}, "The drops in a millilitre must be more than 0"),
        ({"volume_ml": -1.0}, "What is still to come must be 0 or more"),
    ],
)
def test_what_no_reading_can_be_is_refused(changes: dict[str, float | None], words: str) -> None:
    given: dict[str, float | None] = {"minutes": 1.0, "drops_per_ml": 45.0, "volume_ml": 100.0, "ml": 1.0}
    with pytest.raises(OutOfRange, match=words):
        read_drip(**(given | changes))  # type: ignore[arg-type]

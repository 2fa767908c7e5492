"""A percolation planned and followed: what must always hold, published figures, and what is refused.

T06 and T07, the drip itself, stand in test_trade_ratios.py.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.drip_time import DripReading, drip_time
from batches.calc.errors import OutOfRange
from batches.calc.fluid_extract import fluid_extract
from batches.calc.percolation import (
    DRAINED,
    LEAST_ABV,
    LEAST_HERB,
    MOISTEN,
    STAND_LEAST,
    STAND_MOST,
    STEEP,
    column_plan,
    concerns,
    out_early,
)
from batches.calc.sources import Mark
from tests.calc.plain_r22 import mixed


@given(st.floats(60, 5000), st.floats(0, 0.15), st.floats(4, 15), st.floats(50, 90))
def test_what_goes_on_comes_off_or_stays(w: float, m: float, r: float, abv: float) -> None:
    """All the liquid by OIML R 22, reckoned apart."""
    found = column_plan(herb_g=w, moisture=m, menstruum_ml=w * r, menstruum_abv=abv)
    ml, strength = mixed((w * r, abv), water_g=w * m)
    assert found.percolate_ml + found.retained_ml == approx(ml, rel=1e-8)
    assert found.abv == approx(strength, rel=1e-8)
    assert found.retained_ml == approx(2.0 * w * (1 - m))
    assert found.low_ml <= found.percolate_ml <= found.high_ml
    assert found.high_ml - found.low_ml == approx(1.5 * w * (1 - m))
    assert found.moisten_ml == approx(0.4 * w)


def test_a_workshops_own_retention_widens_the_range_when_it_lies_outside() -> None:
    found = column_plan(herb_g=200, moisture=0, menstruum_ml=1000, menstruum_abv=60, retention=1.0)
    assert found.high_ml == found.percolate_ml == approx(800)
    assert found.low_ml == approx(400)
    scant = column_plan(herb_g=200, moisture=0, menstruum_ml=450, menstruum_abv=60)
    assert (scant.low_ml, scant.percolate_ml) == (0.0, approx(50))


def test_squibbs_figures_of_1866() -> None:
    """12 fl oz from 16 troy oz carried 61 to 78 % of all extract, 16 fl oz 71 to 84 %."""
    drug, fluid = 16 * 31.1034768, 29.5735295625
    assert out_early(percolate_ml=12 * fluid, herb_g=drug) == approx((0.61, 0.78))
    assert out_early(percolate_ml=16 * fluid, herb_g=drug) == approx((0.71, 0.84))
    assert out_early(percolate_ml=6 * fluid, herb_g=drug) == approx((0.305, 0.39))
    assert out_early(percolate_ml=0, herb_g=drug) == (0, 0)


@given(st.floats(0, 0.94), st.floats(0, 0.01))
def test_more_percolate_never_holds_less(per_g: float, more: float) -> None:
    low, high = out_early(percolate_ml=per_g * 100, herb_g=100)
    later = out_early(percolate_ml=(per_g + more) * 100, herb_g=100)
    assert low <= later[0] and high <= later[1] and low <= high


def test_a_fluid_extract_is_a_millilitre_a_gram() -> None:
    """1 mL of a fluid extract stands for 1 g of drug (USP <1151>; Ph. Eur. 0765)."""
    found = fluid_extract(herb_g=1000, weak_ml=2000)
    assert (found.total_ml, found.reserve_ml) == (1000, approx(850))
    assert (found.room_ml, found.evaporate_ml) == (approx(150), approx(1850))


@pytest.mark.parametrize(
    ("drug", "kept"),
    [(100, 85), (500, 425)],
    ids=["BPC 1911, Extractum Cerei Liquidum", "Oldberg and Wall 1887, reserve 425 of 500 cc"],
)
def test_the_first_percolate_kept_apart(drug: float, kept: float) -> None:
    assert fluid_extract(herb_g=drug, weak_ml=2 * drug).reserve_ml == approx(kept)


@given(st.floats(10, 5000), st.floats(0.1, 0.95), st.floats(0, 5))
def test_reserve_and_what_is_left_fill_it(w: float, reserve: float, more: float) -> None:
    weak = w * (1 - reserve) * (1.000001 + more)
    found = fluid_extract(herb_g=w, weak_ml=weak, reserve_per_g=reserve)
    assert found.reserve_ml + found.weak_ml - found.evaporate_ml == approx(found.total_ml)


def test_a_sound_column_raises_no_concern() -> None:
    assert concerns(herb_g=57, abv=50) == ()


def test_what_speaks_against_a_column() -> None:
    """At least 50 % vol (after Moore) and 2 oz of dried herb (common practice)."""
    fresh, weak, little = concerns(herb_g=40, abv=40, fresh=True)
    assert "fresh herb" in fresh.words and fresh.limit.source == "USP <565>"
    assert weak.words.startswith("In a menstruum of 40 % vol the herb swells") and weak.limit is LEAST_ABV
    assert little.words == "40 g make a column too short: take 57 g or more." and little.limit is LEAST_HERB
    assert [one.limit for one in concerns(herb_g=100, abv=None)] == [LEAST_ABV]
    assert "without spirit" in concerns(herb_g=100, abv=None)[0].words


def test_the_settings_of_a_column_say_where_they_come_from() -> None:
    """15 min (USP <565>) to 6 h (USP IX), 24 h closed (USP IX); the rest is marked as what it is."""
    assert (STAND_LEAST.value, STAND_MOST.value, STEEP.value) == (0.25, 6, 24)
    assert [one.mark for one in (MOISTEN, DRAINED, LEAST_HERB)] == [Mark.MEMORY, Mark.PRACTICE, Mark.PRACTICE]


def readings(*pairs: tuple[float, float]) -> list[DripReading]:
    return [DripReading(*pair) for pair in pairs]


def test_the_latest_three_readings_tell_how_long() -> None:
    """By hand: mean of 0.5, 0.4, 0.3 is 0.4 mL/min; 480 mL take 20 h, 16 to 26.7 at the ends."""
    found = drip_time(readings=readings((0, 2.0), (1, 0.5), (3, 0.4), (5, 0.3)), volume_ml=480)
    assert found.hours == approx(20)
    assert (found.low, found.high) == (approx(16), approx(26 + 2 / 3))
    assert found.dripped_ml == approx(60 * (1.25 + 0.9 + 0.7))


@given(
    st.lists(st.tuples(st.floats(0.01, 5), st.floats(0.05, 10)), min_size=1, max_size=6), st.floats(0, 5000)
)
def test_the_mean_lies_between_fastest_and_slowest(steps: list[tuple[float, float]], left: float) -> None:
    """A steady drip is found again whatever the times; a drip that changes lies in between."""
    hours, taken = 0.0, []
    for step, rate in steps:
        hours += step
        taken.append(DripReading(hours, rate))
    found = drip_time(readings=taken, volume_ml=left)
    assert found.low <= found.hours * (1 + 1e-9) and found.hours <= found.high * (1 + 1e-9)
    steady = drip_time(readings=[DripReading(one.hours, 0.5) for one in taken], volume_ml=left)
    assert steady.hours == approx(left / 30)
    assert steady.dripped_ml == approx(30 * (taken[-1].hours - taken[0].hours))
    assert ("dripped_ml" in found.figures()) == (len(taken) > 1)


COLUMN = {"herb_g": 200.0, "moisture": 0.08, "menstruum_ml": 1000.0, "menstruum_abv": 60.0}


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: concerns(herb_g=0, abv=60), "The herb must be more than 0"),
        (lambda: column_plan(**COLUMN | {"herb_g": 0}), "The herb must be more than 0"),
        (lambda: column_plan(**COLUMN, moisten_per_g=0), "The menstruum to moisten with must be more than 0"),
        (lambda: column_plan(**COLUMN, retention=-1), "The retention must be 0 or more"),
        (lambda: column_plan(**COLUMN, retention_range=(-1, 3)), "The least retention must be 0 or more"),
        (
            lambda: column_plan(**COLUMN | {"menstruum_ml": 300}),
            "300 mL would all stay in 200 g of herb: it keeps about 2 mL per gram of dry matter",
        ),
        (lambda: column_plan(**COLUMN, moisten_per_g=5), "Use a higher ratio."),
        (lambda: out_early(percolate_ml=96, herb_g=100), "Squibb's figures end at 0.95 mL"),
        (lambda: out_early(percolate_ml=-1, herb_g=100), "The percolate must be 0 or more"),
        (lambda: out_early(percolate_ml=1, herb_g=0), "The herb must be more than 0"),
        (lambda: fluid_extract(herb_g=0, weak_ml=1), "The herb must be more than 0"),
        (
            lambda: fluid_extract(herb_g=1, weak_ml=1, reserve_per_g=0),
            "The first percolate must be more than 0",
        ),
        (
            lambda: fluid_extract(herb_g=1, weak_ml=1, reserve_per_g=1),
            "1 mL for 1 g (USP): 1 mL for each gram",
        ),
        (lambda: fluid_extract(herb_g=1, weak_ml=-1), "The later percolate must be 0 or more"),
        (
            lambda: fluid_extract(herb_g=1000, weak_ml=100),
            "100 mL of later percolate are less than the 150 mL of room for it: percolate on",
        ),
        (lambda: drip_time(readings=[], volume_ml=1), "One reading of the drip at least is needed."),
        (
            lambda: drip_time(readings=readings((0, 1)), volume_ml=-1),
            "What is still to come must be 0 or more",
        ),
        (lambda: drip_time(readings=readings((0, 0)), volume_ml=1), "The drip must be more than 0"),
        (
            lambda: drip_time(readings=readings((1, 1), (1, 1)), volume_ml=1),
            "stand in the order of their times.",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

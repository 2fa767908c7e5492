"""Recipes in parts, bottles of several sizes, cost, altitude and best-before: worked values of the trade."""

from __future__ import annotations

from datetime import date

import CoolProp.CoolProp as cp
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.altitude import boiling_here, metres_from_feet
from batches.calc.best_before import KEEPS, Keeps, Part, keeps, until
from batches.calc.combine import in_parts, landing, least_tincture, total_by_share
from batches.calc.costing import bottle_cost
from batches.calc.errors import OutOfRange
from batches.calc.fill import Size, fill_sizes
from batches.calc.mixing import to_target
from batches.calc.sources import Mark

MADE = date(2026, 6, 1)


def test_300_ml_of_60_percent_and_420_of_water() -> None:
    """Mass balance by OIML R 22: 714.9 mL at 25.18 % vol; adding volumes says 25.0."""
    found = landing(tincture_ml=300, abv=60, extract_ml=420)
    assert (found.final_ml, found.floor_abv) == (approx(714.9, abs=0.05), approx(25.18, abs=0.005))


def test_380_ml_of_58_percent_to_30() -> None:
    """Mass balance by OIML R 22: 360.4 mL of extract, 734.7 mL in all."""
    found = to_target(380, 58, 30)
    assert (found.water_ml, found.final_ml) == (approx(360.4, abs=0.05), approx(734.7, abs=0.05))


def test_five_cups_at_seven_tenths() -> None:
    """A published rule: 5 cups of decoction over 0.70 is 7.14 cups; add 2.14 of tincture."""
    found = total_by_share(extract_ml=5, extract_share=0.7)
    assert (found.total_ml, found.tincture_ml) == (approx(7.14, abs=0.005), approx(2.14, abs=0.005))


@pytest.mark.parametrize(
    ("share", "abv", "lands"), [(0.3, 95, 29.1), (0.3, 40, 12.0), (0.5, 40, 20.0), (0.5, 60, 30.3)]
)
def test_popular_recipes_that_quietly_fail(share: float, abv: float, lands: float) -> None:
    """ "30 % tincture" and "equal parts" of teaching recipes, by OIML R 22."""
    assert in_parts(tincture_share=share, abv=abv).landed_abv == approx(lands, abs=0.06)


@pytest.mark.parametrize(
    ("abv", "shares"),
    [
        (40, (0.50, 0.63, 0.75)),
        (50, (0.40, 0.50, 0.60)),
        (60, (0.33, 0.42, 0.50)),
        (95, (0.21, 0.26, 0.32)),
    ],
)
def test_least_tincture(abv: float, shares: tuple[float, ...]) -> None:
    """For 20, 25 and 30 % vol by adding volumes; by mass it takes up to 0.011 less, as volumes shrink."""
    for target, share in zip((20, 25, 30), shares, strict=True):
        found = least_tincture(abv=abv, target=target)
        assert found.thumb == approx(share, abs=0.0051)
        assert share - 0.016 < found.share < share + 0.006
        assert in_parts(tincture_share=found.share, abv=abv).landed_abv == approx(target, abs=1e-6)


@given(st.floats(5, 95), st.floats(0.05, 1))
def test_more_tincture_is_stronger(abv: float, share: float) -> None:
    found = in_parts(tincture_share=share, abv=abv)
    assert found.landed_abv <= abv + 1e-9
    assert found.landed_abv >= in_parts(tincture_share=share * 0.9, abv=abv).landed_abv
    assert least_tincture(abv=abv, target=min(abv, found.landed_abv)).share == approx(share, rel=1e-6)


def test_33_bottles_of_a_small_batch() -> None:
    """20 of spirit and 12 of herb over 33 bottles is 0.97; with 1.10 of packaging 2.07, before labour."""
    found = bottle_cost(herb=0.2 * 60, spirit=1.0 * 20, bottles=33, packaging=1.10)
    assert (found.contents, found.each) == (approx(0.97, abs=0.005), approx(2.07, abs=0.005))
    assert found.batch_cost == approx(32)


@given(st.floats(0, 1e4), st.floats(0, 1e3), st.integers(1, 500))
def test_bottles_pay_for_the_batch(herb: float, labour: float, bottles: int) -> None:
    found = bottle_cost(herb=herb, spirit=5, labour=labour, bottles=bottles, packaging=1)
    assert bottles * found.each == approx(herb + labour + 5 + bottles)


def test_water_boils_at_95_degrees_at_5000_feet() -> None:
    """Printed altitude table: 203.0 F. ISO 2533 gives 84,307 Pa there, at which CoolProp's water boils."""
    found = boiling_here(metres=metres_from_feet(5000))
    assert (found.fahrenheit, found.celsius) == (approx(203.0), approx(95.0))
    assert found.celsius == approx(cp.PropsSI("T", "P", 84307, "Q", 0, "Water") - 273.15, abs=0.5)


def test_bottles_of_three_sizes() -> None:
    """2,058 mL: ten of 50.5 mL as wanted, fifteen of 100.8, one of 30; 11 mL over."""
    found = fill_sizes(volume_ml=2100, loss=0.02, sizes=[Size(50, 0.5, 10), Size(100, 0.8), Size(30)])
    assert (found.counts, found.bottles) == ((10, 15, 1), 26)
    assert found.usable_ml == approx(2058) == approx(10 * 50.5 + 15 * 100.8 + 30 + found.left_over_ml)


@given(st.floats(0, 1e5), st.lists(st.integers(10, 1000), min_size=1, max_size=4), st.floats(0, 0.2))
def test_less_than_the_smallest_bottle_stays_over(volume: float, fills: list[int], loss: float) -> None:
    found = fill_sizes(volume_ml=volume, loss=loss, sizes=[Size(float(fill)) for fill in fills])
    assert -1e-6 <= found.left_over_ml < min(fills)
    assert found.filled_ml + found.left_over_ml == approx(found.usable_ml)


@pytest.mark.parametrize(
    ("key", "months", "days", "mark"),
    [
        ("tincture", 36, 0, Mark.PRACTICE), ("double", 24, 0, Mark.PRACTICE), ("glycerite", 12, 0, Mark.READ),
        ("vinegar", 3, 0, Mark.READ), ("syrup-honey", 0, 14, Mark.PRACTICE), ("infusion", 0, 1, Mark.READ),
    ],
)  # fmt: skip
def test_how_long_preparations_are_said_to_keep(key: str, months: int, days: int, mark: Mark) -> None:
    """The cautious end of what extension bulletins and herbalists quote."""
    found = keeps(key)
    assert (found.months, found.days, found.mark) == (months, days, mark)


def test_every_rule_is_the_cautious_end_of_what_is_quoted() -> None:
    for row in KEEPS:
        assert (row.months or row.days) == row.low <= row.high
        assert bool(row.months) != bool(row.days)
        assert row.source or row.mark is Mark.PRACTICE


def test_the_component_that_runs_out_first_sets_the_date() -> None:
    oil = (Part.OIL, "OL-003", date(2026, 9, 30))
    herb = (Part.OTHER, "CA-001", date(2026, 7, 1))
    rule = keeps("oil")
    bound = until(made_on=MADE, rule=rule, parts=[herb, oil])
    assert (bound.on, bound.because, bound.source) == (date(2026, 9, 30), "oil OL-003", "the lot's own date")
    free = until(made_on=MADE, rule=rule, parts=[herb])
    assert (free.on, free.because) == (date(2026, 12, 1), "infused oil of dried herb")
    assert until(made_on=date(2026, 8, 31), rule=rule).on == date(2027, 2, 28), "the end of a short month"
    assert until(made_on=MADE, rule=keeps("infusion")).on == date(2026, 6, 2)


@pytest.mark.parametrize("part", list(Part))
def test_only_some_components_bound_the_product(part: Part) -> None:
    found = until(made_on=MADE, rule=keeps("tincture"), parts=[(part, "X", date(2026, 7, 1))])
    assert (found.on == date(2026, 7, 1)) is (part is not Part.OTHER)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: in_parts(tincture_share=0, abv=40), "The tincture's share must be more than 0, not 0."),
        (
            lambda: in_parts(tincture_share=1.1, abv=40),
            "The tincture's share must lie between 0 and 1, not 1.1.",
        ),
        (lambda: least_tincture(abv=40, target=0), "The strength wanted must be more than 0, not 0."),
        (lambda: least_tincture(abv=20, target=30), "30 % vol is above the 20 % vol at hand"),
        (
            lambda: total_by_share(extract_ml=5, extract_share=0),
            "The extract's share must be more than 0, not 0.",
        ),
        (lambda: bottle_cost(herb=1, spirit=1, bottles=0), "A cost needs one good bottle or more, not 0."),
        (lambda: bottle_cost(herb=-1, spirit=1, bottles=1), "The cost of herb must be 0 or more, not -1."),
        (lambda: fill_sizes(volume_ml=100, sizes=[]), "Name one size of bottle or more."),
        (
            lambda: fill_sizes(volume_ml=100, sizes=[Size(50, wanted=3)]),
            "The bottles wanted take 150 mL, but there are 100 mL.",
        ),
        (lambda: keeps("nothing"), "There is no keeping time for nothing: give the months yourself."),
        (
            lambda: until(made_on=MADE, rule=Keeps("x", "x", "", Mark.PRACTICE)),
            "A keeping time is one day or more.",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

"""Plans both ways, filling, and best-before dates."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import ethanol_g
from batches.calc.best_before import add_months, best_before
from batches.calc.errors import OutOfRange
from batches.calc.fill import fill_plan
from batches.calc.mixing import blend
from batches.calc.plan import Pot, Retention, Terms, plan_backward, plan_forward

DOUBLE = Terms(
    ratio=5.0,
    menstruum_abv=80.0,
    stock_abv=96.0,
    moisture=0.09,
    retention=Retention(estimate=154.99 / 163.8, low=0.5, high=1.5),
    target_abv=28.0,
    pot=Pot(hours=4.0, rate_ml_h=250.0, spent_retention=1.0),
    fill_ml=50.0,
)
PLAIN = replace(DOUBLE, menstruum_abv=60.0, target_abv=None, pot=None)


def test_180_g_forwards_is_the_worked_jar() -> None:
    """The jar of test_worked_jar.py, with the retention that its press found."""
    found = plan_forward(herb_g=180, terms=DOUBLE)
    assert found.menstruum_ml == approx(900)
    assert (found.spirit_ml, found.water_ml) == (approx(750, abs=0.05), approx(168.1, abs=0.05))
    assert (found.jar_abv, found.pressed_ml) == (approx(78.69, abs=0.005), approx(760, abs=0.01))
    assert found.marc_ethanol_ml == approx(121.96, abs=0.01)
    assert found.extract_ml == approx(1407.1, abs=0.1)
    assert found.final_ml == approx(2135.9, abs=0.1)
    assert found.start_water_ml == approx(1407.05 + 163.8 + 1000 - 154.99, abs=0.1)
    assert found.pot_hours == 4
    assert (found.bottles, found.left_over_ml) == (42, approx(35.9, abs=0.1))
    assert found.herb.by_all_herb == approx(84.3, abs=0.05)


def test_the_range_follows_the_retention() -> None:
    found = plan_forward(herb_g=180, terms=DOUBLE)
    assert found.pressed_low_ml == approx(found.jar.ml - 1.5 * 163.8)
    assert found.pressed_high_ml == approx(found.jar.ml - 0.5 * 163.8)
    lowest = plan_forward(herb_g=180, terms=replace(DOUBLE, retention=Retention(1.5, 1.5, 1.5)))
    assert found.final_low_ml == approx(lowest.final_ml)
    assert found.final_low_ml < found.final_ml < found.final_high_ml


def test_forty_bottles_backwards() -> None:
    found = plan_backward(bottles=40, terms=DOUBLE)
    assert found.bottles == 40
    assert found.final_ml == approx(2000)
    assert found.left_over_ml == approx(0, abs=1e-6)
    assert found.herb_g == approx(180 * 2000 / 2135.85, rel=1e-4)


losses = st.floats(0.0, 0.1)
terms = st.builds(
    lambda ratio, menstruum, moisture, retention, target, pot, fill, over, s, f, b: Terms(
        ratio=ratio,
        menstruum_abv=menstruum,
        stock_abv=96.0,
        moisture=moisture,
        retention=Retention(retention, retention * 0.8, retention * 1.2),
        target_abv=target,
        pot=pot,
        fill_ml=fill,
        overfill_ml=over,
        settle_loss=s,
        filter_loss=f,
        bottling_loss=b,
    ),
    st.floats(3, 10), st.floats(60, 96), st.floats(0, 0.15), st.floats(0, 1.5), st.floats(20, 40),
    st.none() | st.just(Pot(4, 250, 1.0)), st.sampled_from([10.0, 30.0, 50.0, 100.0]), st.floats(0, 1),
    losses, losses, losses,
)  # fmt: skip


@given(terms, st.integers(5, 500))
def test_backwards_then_forwards_is_the_same_batch(given_terms: Terms, bottles: int) -> None:
    back = plan_backward(bottles=bottles, terms=given_terms)
    assert back.bottles == bottles
    assert back.left_over_ml == approx(0, abs=1e-6)
    assert plan_forward(herb_g=back.herb_g, terms=given_terms) == back


@given(terms, st.floats(20, 5000))
def test_forwards_keeps_ethanol_and_mass(given_terms: Terms, herb_g: float) -> None:
    found = plan_forward(herb_g=herb_g, terms=given_terms)
    poured = ethanol_g(found.spirit_ml, 96)
    kept = ethanol_g(found.final_ml, found.final_abv)
    assert poured == approx(kept + found.pressing.marc_ethanol_g, rel=1e-9)
    made = blend([(found.pressed_ml, found.jar_abv), (found.extract_ml, 0)])
    assert made.ml == approx(found.final_ml, rel=1e-9)
    filled = found.bottles * found.fill.each_ml + found.left_over_ml
    assert filled == approx(found.ready_ml * (1 - given_terms.bottling_loss), rel=1e-9)


def test_a_plain_tincture_is_bottled_as_pressed() -> None:
    found = plan_forward(herb_g=200, terms=PLAIN)
    assert found.final_ml == found.pressed_ml
    assert found.final_abv == found.jar_abv
    assert (found.extract_ml, found.start_water_ml, found.pot_hours) == (0, 0, 0)
    assert plan_backward(bottles=12, terms=PLAIN).bottles == 12


def test_a_plain_tincture_may_be_let_down_with_water() -> None:
    found = plan_forward(herb_g=200, terms=replace(PLAIN, target_abv=45.0))
    assert found.final_abv == 45
    assert found.start is None
    assert found.extract_ml > 0


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"target_abv": 79.0}, "The jar will hold 78.7 % vol, the herb's own water counted: 79 % vol cannot"),
        ({"target_abv": None}, "A double extraction needs the strength it is to reach."),
        ({"settle_loss": 1.0}, "The loss in settling cannot be everything."),
        ({"filter_loss": -0.1}, "The loss in filtering must lie between 0 and 1, not -0.1."),
        ({"bottling_loss": 1.0}, "The loss in bottling cannot be everything."),
        ({"ratio": 0.0}, "The ratio must be more than 0, not 0."),
        ({"menstruum_abv": 97.0}, "97 % vol cannot be made from a spirit of 96 % vol."),
        ({"retention": Retention(9, 9, 9)}, "The herb would hold all the liquid"),
        ({"fill_ml": 0.0}, "The fill must be more than 0, not 0."),
    ],
)
def test_a_plan_that_cannot_be_is_refused_in_a_sentence(change: dict[str, object], sentence: str) -> None:
    for solve in (
        lambda t: plan_forward(herb_g=180, terms=t),
        lambda t: plan_backward(bottles=40, terms=t),
    ):
        with pytest.raises(OutOfRange) as refused:
            solve(replace(DOUBLE, **change))  # type: ignore[arg-type]
        assert sentence in str(refused.value)


def test_no_bottles_and_no_herb_are_refused() -> None:
    with pytest.raises(OutOfRange, match="One bottle or more is needed."):
        plan_backward(bottles=0, terms=DOUBLE)
    with pytest.raises(OutOfRange, match="The herb must be more than 0, not 0."):
        plan_forward(herb_g=0, terms=DOUBLE)
    with pytest.raises(OutOfRange, match="low, an estimate and a high, in that order"):
        Retention(1, 2, 3)


def test_filling_by_the_scale() -> None:
    """50 mL of 28 % vol (0.96464 g/mL, between the printed 25 and 30 % of 0.96810 and 0.96221)."""
    found = fill_plan(volume_ml=2136, abv=28, fill_ml=50, tare_g=48)
    assert (found.bottles, found.left_over_ml) == (42, approx(36))
    assert 50 * 0.96221 < found.each_g < 50 * 0.96810
    assert found.on_scale_g == approx(found.each_g + 48)


def test_a_wanted_number_of_bottles_leaves_the_rest() -> None:
    found = fill_plan(volume_ml=2136, abv=28, fill_ml=50, wanted=40)
    assert (found.bottles, found.left_over_ml) == (40, approx(136))
    with pytest.raises(OutOfRange, match="There is enough for 42.bottles, not for 43."):
        fill_plan(volume_ml=2136, abv=28, fill_ml=50, wanted=43)


@pytest.mark.parametrize("bottles", range(1, 200, 7))
@pytest.mark.parametrize("loss", [0.0, 0.01, 0.03])
def test_a_volume_made_for_so_many_fills_so_many(bottles: int, loss: float) -> None:
    assert (
        fill_plan(
            volume_ml=bottles * 50.3 / (1 - loss), abv=28, fill_ml=50, overfill_ml=0.3, loss=loss
        ).bottles
        == bottles
    )


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 3, 31), 24, date(2028, 3, 31)),
        (date(2026, 8, 31), -6, date(2026, 2, 28)),
    ],
)
def test_calendar_months_are_clamped_to_the_end(day: date, months: int, expected: date) -> None:
    assert add_months(day, months) == expected


@given(st.dates(date(1990, 1, 1), date(2100, 1, 1)), st.integers(-120, 120))
def test_calendar_months_agree_with_dateutil(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)


def test_the_earliest_limit_wins() -> None:
    made = date(2026, 6, 1)
    assert best_before(made_on=made, months=24) == date(2028, 6, 1)
    assert best_before(made_on=made, months=24, limits=[date(2027, 5, 1)]) == date(2027, 5, 1)
    assert best_before(made_on=made, months=24, limits=[date(2030, 5, 1)]) == date(2028, 6, 1)


def test_dates_that_cannot_be_are_refused() -> None:
    with pytest.raises(OutOfRange, match="A keeping time is one month or more."):
        best_before(made_on=date(2026, 6, 1), months=0)
    with pytest.raises(OutOfRange, match="beyond the calendar"):
        add_months(date(9999, 6, 1), 12)

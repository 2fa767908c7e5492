"""The pot's first guesses, how they give way to readings, its alarms, its start water and its ethanol.

The worked values of the trade stand in test_trade_pot.py.
"""

from __future__ import annotations

from math import exp, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS95
from pytest import approx

from batches.calc.decoction import (
    HEAT_SOURCES,
    Rate,
    Reading,
    blended_rate,
    boil_water,
    boiling_prior,
    ethanol_left,
    evaporation_rate,
    lasting,
    look_again_in,
    pot_area_cm2,
    pot_ml,
    simmering_prior,
    start_water,
    stated_prior,
    time_to_target,
    water_by_herb,
)
from batches.calc.errors import OutOfRange
from batches.calc.sources import Mark

DEPTHS = ((0, 12.0), (0.5, 11.1), (1.0, 10.3), (1.5, 9.4))
BOIL = [Reading(h, pot_ml(24, depth)) for h, depth in DEPTHS]
MILLIMETRE = pot_ml(24, 0.1)


@pytest.mark.parametrize(
    ("heat", "low", "high"), [("gas", 0.35, 0.5), ("coil", 0.7, 0.8), ("induction", 0.8, 0.9)]
)
def test_a_burners_range_of_efficiency(heat: str, low: float, high: float) -> None:
    """Printed cooking efficiencies, secondary sources; 3600 s/h over 2257 kJ/kg, a kg as 1,000 mL."""
    found = boiling_prior(kilowatts=2, heat=heat)
    assert found.low == approx(3600 * 2 * low / 2257 * 1000)
    assert found.high == approx(3600 * 2 * high / 2257 * 1000)
    assert found.ml_per_h == approx((found.low + found.high) / 2)
    assert found.u == approx((found.high - found.low) / sqrt(12))  # a rectangle, JCGM 100:2008 4.3.7
    assert HEAT_SOURCES[heat].mark is Mark.MIXED


def test_a_known_efficiency_takes_the_middle_and_keeps_the_width() -> None:
    found = boiling_prior(kilowatts=2, heat="gas", efficiency=0.4)
    assert found.ml_per_h == approx(3600 * 2 * 0.4 / 2257 * 1000)
    assert found.high / found.low == approx(0.5 / 0.35)


def test_a_simmering_pot_may_lose_half_or_half_as_much_again() -> None:
    """ASHRAE's pool formula (from memory) in air of 0.1 m/s, vapour pressure and latent heat by IAPWS-95."""
    found = simmering_prior(celsius=80, diameter_cm=24)
    liquid, steam = (IAPWS95(T=353.15, x=x) for x in (0, 1))
    per_m2 = (0.089 + 0.00782) * (float(liquid.P) * 1000 - 1.17) / (float(steam.h) - float(liquid.h)) * 3600
    assert found.ml_per_h == approx(per_m2 * pot_area_cm2(24) / 10, rel=0.005)
    assert (found.low, found.high) == approx((found.ml_per_h / 2, found.ml_per_h * 1.5))


def test_the_blend_is_the_least_squares_of_guess_and_readings_together() -> None:
    """Against numpy: one more weighted row, "the rate is the guess", beside the readings' rows."""
    prior, rate = boiling_prior(kilowatts=1.5), evaporation_rate(BOIL)
    found = blended_rate(prior=prior, rate=rate, reading_u_ml=MILLIMETRE)
    spread = rate.standard_error or 0.0
    sigma = max(MILLIMETRE, spread * sqrt(rate.sum_tt))
    hours = np.array([r.hours for r in BOIL])
    rows = np.vstack([np.column_stack([np.ones(4), -hours]) / sigma, [[0, 1 / found.guess_u]]])
    wanted = np.append(np.array([r.ml for r in BOIL]) / sigma, prior.ml_per_h / found.guess_u)
    solved = np.linalg.lstsq(rows, wanted, rcond=None)[0]
    assert found.ml_per_h == approx(float(solved[1]), rel=1e-9)
    assert found.u == approx(float(np.sqrt(np.linalg.inv(rows.T @ rows)[1, 1])), rel=1e-9)


@given(st.floats(100, 3000), st.floats(0.05, 4), st.floats(5, 200))
def test_a_blend_lies_between_and_is_surer_than_either(slope: float, hours: float, u: float) -> None:
    prior = boiling_prior(kilowatts=1)
    rate = evaporation_rate([Reading(0, 20_000), Reading(hours, 20_000 - slope * hours)])
    found = blended_rate(prior=prior, rate=rate, reading_u_ml=u)
    ends = sorted((prior.ml_per_h, slope))
    assert ends[0] * (1 - 1e-6) <= found.ml_per_h <= ends[1] * (1 + 1e-6)
    assert found.u <= found.guess_u and found.u <= (found.measured_u or 0) * (1 + 1e-12)
    assert found.measured_u == approx(u / sqrt(hours * hours / 2))
    assert found.weight == approx((prior.ml_per_h - found.ml_per_h) / (prior.ml_per_h - slope), abs=1e-3) or (
        abs(prior.ml_per_h - slope) < 1.0
    )


@given(st.floats(10, 3000), st.floats(0.05, 4), st.floats(5, 200))
def test_a_guess_stands_until_the_readings_speak_against_it(slope: float, hours: float, u: float) -> None:
    """E_n = d / sqrt(U1^2 + U2^2) with U = 2 u: up to 1 two results agree (ISO 13528, ISO/IEC 17043)."""
    prior = boiling_prior(kilowatts=1)
    rate = evaporation_rate([Reading(0, 20_000), Reading(hours, 20_000 - slope * hours)])
    found = blended_rate(prior=prior, rate=rate, reading_u_ml=u)
    apart, own_u = abs(prior.ml_per_h - rate.ml_per_h), found.measured_u or 0.0
    e_n = apart / sqrt((2 * prior.u) ** 2 + (2 * own_u) ** 2)
    if e_n <= 1:
        assert found.guess_u == approx(prior.u, rel=1e-6)
    else:
        assert apart / sqrt((2 * found.guess_u) ** 2 + (2 * own_u) ** 2) == approx(1)


def test_two_readings_a_minute_and_a_half_apart_say_nothing() -> None:
    """35 mL in 90 s are 1,400 mL/h, each level read to 26 mL: u of 1,471 mL/h by GUM H.3.3. The pan rules."""
    prior = simmering_prior(celsius=77, diameter_cm=24)
    rate = evaporation_rate([Reading(0, 276), Reading(0.025, 241)])
    found = blended_rate(prior=prior, rate=rate, reading_u_ml=26)
    assert (rate.ml_per_h, found.measured_u) == (approx(1400), approx(26 * sqrt(2) / 0.025))
    assert found.early and found.ml_per_h == approx(prior.ml_per_h, rel=0.02)
    assert 2 * found.u < found.ml_per_h


def test_a_formulas_own_figure_is_as_wide_a_guess_as_the_pans() -> None:
    found, pan = stated_prior(ml_per_h=250), simmering_prior(celsius=77, diameter_cm=24)
    assert (found.ml_per_h, found.low, found.high) == (250, 125, 375)
    assert found.u / found.ml_per_h == approx(pan.u / pan.ml_per_h)
    assert found.figures()["ml_per_h"].value == 250


@given(st.floats(1, 9000), st.floats(20, 2000), st.floats(0.1, 12))
def test_water_that_lasts_is_as_good_as_dry_when_its_time_is_over(ml: float, rate: float, h: float) -> None:
    found = lasting(start_ml=ml, rate_ml_h=rate, hours=h, room_ml=9000)
    assert ml - rate * found.lasts_h == approx(ml / 10)
    again = lasting(start_ml=found.needed_ml, rate_ml_h=rate, hours=h)
    assert again.lasts_h == approx(h) and not again.thin
    assert found.short == (found.lasts_h < h)
    assert found.thin == (ml < 450)
    assert set(found.figures()) == {"lasts_h", "needed_ml"}


def test_dry_is_what_is_left_above_the_line() -> None:
    found = time_to_target(now_ml=1000, target_ml=0, rate_ml_h=300, dry_ml=100)
    assert found.dry_hours == approx(3) and found.figures()["dry_hours"].value == approx(3)
    near = time_to_target(now_ml=200, target_ml=0, rate_ml_h=300, dry_ml=100)
    assert near.next_reading_min == approx(10)
    assert time_to_target(now_ml=80, target_ml=0, rate_ml_h=300, dry_ml=100).dry_hours == 0


def test_the_next_look_in_whole_minutes() -> None:
    """Never later than half the time that is left; five minutes are for the way to the pot and back."""
    assert [look_again_in(minutes) for minutes in (30.0, 12.9, 5.0, 0.4)] == [30, 12, 5, 5]


def test_the_guess_fades_as_readings_come() -> None:
    prior = boiling_prior(kilowatts=1.5)
    alone = blended_rate(prior=prior, rate=None, reading_u_ml=MILLIMETRE)
    assert (alone.weight, alone.ml_per_h, alone.u) == (0.0, prior.ml_per_h, prior.u)
    weights = [
        blended_rate(prior=prior, rate=evaporation_rate(BOIL[:n]), reading_u_ml=MILLIMETRE).weight
        for n in (2, 3, 4)
    ]
    assert weights == sorted(weights) and weights[0] > 0.3 and weights[-1] > 0.8


def test_three_readings_in_line_by_luck_are_not_exact() -> None:
    exact = evaporation_rate([Reading(0, 3000), Reading(1, 2500), Reading(2, 2000)])
    assert exact.standard_error == approx(0, abs=1e-6)
    found = blended_rate(prior=boiling_prior(kilowatts=1), rate=exact, reading_u_ml=45)
    assert found.measured_u == approx(45 / sqrt(2))


def test_readings_that_scatter_weigh_less() -> None:
    scattered = Rate(ml_per_h=500, standard_error=300, readings=4, stretches=1, sum_tt=2, sum_tv=-1000)
    assert blended_rate(prior=boiling_prior(kilowatts=1), rate=scattered, reading_u_ml=45).measured_u == 300


def test_a_blend_says_what_it_rests_on() -> None:
    prior = boiling_prior(kilowatts=1.5)
    alone = blended_rate(prior=prior, rate=None, reading_u_ml=45).figures()["ml_per_h"]
    both = blended_rate(prior=prior, rate=evaporation_rate(BOIL), reading_u_ml=45).figures()["ml_per_h"]
    assert alone.working.words.startswith("The first guess:") and alone.working.formula == "r0"
    assert "inverse of its variance" in both.working.words
    assert (alone.low, alone.high) == approx((prior.ml_per_h - 2 * prior.u, prior.ml_per_h + 2 * prior.u))


@given(st.floats(0, 9000), st.floats(0, 9000), st.floats(0, 9000), st.floats(50, 3000))
def test_the_next_look_is_half_way_to_whatever_comes_first(
    now: float, target: float, low: float, rate: float
) -> None:
    found = time_to_target(now_ml=now, target_ml=target, rate_ml_h=rate, low_ml=low)
    assert found.low_hours is not None
    first = min(found.hours, found.low_hours)
    assert found.next_reading_min == approx(min(30, 30 * first))
    assert found.is_low == (now <= low)
    assert found.hours <= found.dry_hours and found.low_hours <= found.dry_hours
    if now > low:
        assert now - rate * found.low_hours == approx(low, abs=1e-6)
    assert found.figures()["next_reading_min"].value == found.next_reading_min


def test_without_the_marcs_top_there_is_no_alarm() -> None:
    found = time_to_target(now_ml=3000, target_ml=1500, rate_ml_h=300)
    assert (found.low_hours, found.is_low) == (None, False)
    assert "low_hours" not in found.figures()


def test_the_dispensarys_rule_for_two_boils() -> None:
    """First: herb in g + 150 mL + dose; second: dose + 200 mL (as printed by tcmmaintenance.com)."""
    found = boil_water(herb_g=120, wanted_ml=300, wanted_again_ml=300)
    assert (found.first_ml, found.second_ml) == (120 + 150 + 300, 300 + 200)
    once = boil_water(herb_g=120, wanted_ml=300)
    assert (once.second_ml, list(once.figures())) == (0.0, ["first_ml"])


@given(st.floats(1, 5000), st.floats(1, 5000), st.floats(0, 3), st.floats(0, 500))
def test_the_dispensarys_first_boil_is_the_start_water_of_a_short_one(
    herb: float, wanted: float, drinks: float, steam: float
) -> None:
    rule = boil_water(herb_g=herb, wanted_ml=wanted, absorbed=drinks, steam_ml=steam)
    whole = start_water(target_ml=wanted, dry_g=herb, spent_retention=drinks, rate_ml_h=steam, hours=1)
    assert rule.first_ml == approx(whole.start_ml)


def test_a_marc_that_brings_all_that_is_wanted_needs_no_water() -> None:
    assert (
        start_water(target_ml=100, dry_g=0, spent_retention=1, rate_ml_h=0, hours=0, marc_ml=100).start_ml
        == 0
    )


def test_ten_millilitres_a_gram_two_thirds_first() -> None:
    """10 mL per g of herb, 65 % in the first and 35 % in the second boil (the same page)."""
    found = water_by_herb(herb_g=200)
    assert (found.total_ml, found.first_ml, found.second_ml) == approx((2000, 1300, 700))


@given(st.floats(0, 500), st.floats(500, 9000), st.floats(0, 1), st.floats(1, 20))
def test_boiled_down_less_stays_than_topped_up(ethanol: float, pot: float, part: float, k: float) -> None:
    """(1 - x) ** K is never more than exp(-K x); nothing is made, and none is claimed to be gone."""
    given_ = {"ethanol_ml": ethanol, "start_ml": pot, "evaporated_ml": part * pot, "hours": 1.0}
    down = ethanol_left(**given_, topped_up=False, volatility=k)  # type: ignore[arg-type]
    full = ethanol_left(**given_, topped_up=True, volatility=k)  # type: ignore[arg-type]
    assert down.physics_ml <= full.physics_ml * (1 + 1e-9) <= ethanol * (1 + 2e-9)
    assert full.physics_ml == approx(ethanol * exp(-k * part))
    assert down.high_ml >= 0.25 * ethanol  # the kitchen table at one hour


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: boiling_prior(kilowatts=0), "The burner's power must be more than 0"),
        (lambda: boiling_prior(kilowatts=1, heat="fire"), "The heat is one of gas, coil, induction."),
        (lambda: boiling_prior(kilowatts=1, efficiency=2), "The efficiency must lie between 0 and 1"),
        (lambda: simmering_prior(celsius=5, diameter_cm=24), "The rate of water lost must be more than 0"),
        (lambda: simmering_prior(celsius=105, diameter_cm=24), "Water is liquid between 0 and 100 °C"),
        (
            lambda: blended_rate(prior=boiling_prior(kilowatts=1), rate=None, reading_u_ml=0),
            "The uncertainty of a reading must be more than 0",
        ),
        (
            lambda: blended_rate(
                prior=boiling_prior(kilowatts=1),
                rate=evaporation_rate([Reading(0, 1000), Reading(1, 1000)]),
                reading_u_ml=45,
            ),
            "The readings say the pot loses nothing: look whether a top-up was left out or a level misread.",
        ),
        (lambda: stated_prior(ml_per_h=0), "The rate of water lost must be more than 0"),
        (lambda: lasting(start_ml=-1, rate_ml_h=1, hours=1), "The water must be 0 or more"),
        (lambda: lasting(start_ml=1, rate_ml_h=0, hours=1), "The rate of water lost must be more than 0"),
        (lambda: lasting(start_ml=1, rate_ml_h=1, hours=-1), "The time on the heat must be 0 or more"),
        (
            lambda: time_to_target(now_ml=1, target_ml=1, rate_ml_h=1, dry_ml=-1),
            "What is left in a dry pot must be 0 or more",
        ),
        (lambda: time_to_target(now_ml=-1, target_ml=1, rate_ml_h=1), "The pot must be 0 or more"),
        (lambda: time_to_target(now_ml=1, target_ml=-1, rate_ml_h=1), "The target must be 0 or more"),
        (
            lambda: time_to_target(now_ml=1, target_ml=1, rate_ml_h=1, low_ml=-1),
            "The level of the marc's top must be 0 or more",
        ),
        (lambda: boil_water(herb_g=0, wanted_ml=1), "The herb must be more than 0"),
        (lambda: boil_water(herb_g=1, wanted_ml=0), "What is wanted of the first boil must be more than 0"),
        (lambda: boil_water(herb_g=1, wanted_ml=1, steam_ml=-1), "The steam of the first boil must be 0 or"),
        (lambda: water_by_herb(herb_g=0), "The herb must be more than 0"),
        (lambda: water_by_herb(herb_g=1, per_g=0), "The water for a gram must be more than 0"),
        (lambda: water_by_herb(herb_g=1, first_share=65), "The share of the first boil must lie between 0"),
        (
            lambda: ethanol_left(
                ethanol_ml=1, start_ml=10, evaporated_ml=1, hours=1, topped_up=True, volatility=0.5
            ),
            "about 10 times as readily as water (from memory): between 1 and 20, not 0.5.",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

"""Uncertainties against the worked examples of the GUM itself, and what must hold of any.

Source: JCGM 100:2008 (GUM), annex H; each example is named beside its test.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, hypot, sin, sqrt
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc import sure
from batches.calc.decoction import Reading, evaporation_rate
from batches.calc.errors import OutOfRange
from batches.calc.instruments import CAUSES, LIMITS, USUAL, Instruments, rectangular
from batches.calc.mixing import with_plant_water
from batches.calc.uncertain import Known, Uncertain, of_one, propagate, spread
from workshop.calc.rounding import places_of, show_sure

SOME = st.floats(0.01, 5.0)


def test_the_end_gauge_of_the_gum() -> None:
    """GUM H.1.7, table H.1: l = 50,000,838 nm, uc = 32 nm; contributions 25, 9.7, 2.9 and 16.6 nm."""
    found = propagate(
        lambda standard, difference, alpha, theta, d_alpha, d_theta: (
            standard + difference - standard * (d_alpha * theta + alpha * d_theta)
        ),
        {
            "standard": Known(50_000_623.0, 25.0),
            "difference": Known(215.0, 9.7),
            "alpha": Known(11.5e-6, 1.2e-6),
            "theta": Known(-0.1, 0.41),
            "d_alpha": Known(0.0, 0.58e-6),
            "d_theta": Known(0.0, 0.029),
        },
    )
    assert found.value == approx(50_000_838.0)
    assert round(found.u) == 32
    parts = {name: round(abs(part), 1) for name, part in found.parts.items()}
    assert parts["d_alpha"] == 2.9 and parts["alpha"] == parts["theta"] == 0.0
    assert parts["d_theta"] == approx(16.6, abs=0.1)
    assert found.chief == "standard"


def mean_of(observed: tuple[float, ...]) -> Uncertain:
    """A mean whose sources are the observations: the covariance of two such means is that of GUM 5.2.3."""
    n, mean = len(observed), fmean(observed)
    return Uncertain(mean, {str(k): (x - mean) / sqrt(n * (n - 1)) for k, x in enumerate(observed)})


def test_the_resistance_of_the_gum_with_correlated_inputs() -> None:
    """GUM H.2.3, tables H.2 and H.3: R 127.732(71), X 219.847(295), Z 254.260(236) ohm."""
    inputs = {
        "v": mean_of((5.007, 4.994, 5.005, 4.990, 4.999)),
        "i": mean_of((19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3)),
        "p": mean_of((1.0456, 1.0438, 1.0468, 1.0428, 1.0433)),
    }
    assert [round(one.u, 5) for one in inputs.values()] == [0.00321, 0.00001, 0.00075]
    r, x, z = spread(lambda v, i, p: (v / i * cos(p), v / i * sin(p), v / i), inputs)
    assert [round(one.value, 3) for one in (r, x, z)] == [127.732, 219.847, 254.260]
    # The printed ones are worked out from rounded correlations: a unit of the last digit may differ.
    assert [one.u for one in (r, x, z)] == approx([0.071, 0.295, 0.236], abs=1e-3)


def test_the_line_of_the_gum() -> None:
    """GUM H.3.3, tables H.6 and H.7: slope 0.00218, its standard uncertainty 0.00067."""
    t = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
    b = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
    found = evaporation_rate([Reading(hours, ml) for hours, ml in zip(t, b, strict=True)])
    assert -found.ml_per_h == approx(0.00218, abs=5e-6)
    assert found.standard_error == approx(0.00067, abs=5e-6)


def test_a_half_width_is_a_rectangle() -> None:
    """GUM 4.3.7, example 2 of 4.3: a coefficient within 0.40e-6 either way: u2 = 53.3e-15."""
    assert rectangular(0.40e-6) ** 2 == approx(53.3e-15, rel=1e-3)


def test_an_uneven_range() -> None:
    """GUM 4.3.8: from 0.00 to 0.40, u2 = (b+ + b-)2 / 12."""
    assert sure.share_u(0.0, 0.40) == approx(0.40 / sqrt(12))


@pytest.mark.parametrize(
    ("half", "places"),
    [(0.027, 3), (0.54, 2), (0.0996, 2), (0.996, 1), (9.96, 0), (11.2, 0), (134.0, -1), (1.0, 1), (0.0, 0)],
)
def test_two_significant_digits(half: float, places: int) -> None:
    assert places_of(half) == places


@pytest.mark.parametrize(
    ("value", "half", "unit", "said"),
    [
        (10.05762, 0.027, "", "10.058 ± 0.027"),  # GUM 7.2.6
        (29.6043, 0.538, "% vol", "29.60 ± 0.54 % vol"),
        (1407.3, 134.0, "mL", "1,410 ± 130 mL"),
        (12.3, 0.5, "g", "12.3 ± 0.5 g"),
    ],
)
def test_the_value_is_rounded_to_the_same_place(value: float, half: float, unit: str, said: str) -> None:
    assert show_sure(value, half, unit).replace("\u00a0", " ") == said


def test_in_us_units_and_with_a_comma() -> None:
    """1 US fl oz = 29.5735295625 mL (NIST Handbook 44, appendix C); a width has no zero point to shift."""
    assert show_sure(760.0, 9.0, "mL", system="us", decimal_mark=",") == "25,7\u00a0±\u00a00,3\u00a0US fl oz"
    assert show_sure(77.0, 2.0, "°C", system="us") == "170.6\u00a0±\u00a03.6\u00a0°F"


def test_a_scale_of_class_three() -> None:
    """OIML R 76-1, table 6, class III: 0.5, 1 and 1.5 steps at verification, in use twice that (3.5.2)."""
    tools = Instruments(scale_step=1.0)
    for grams, steps in ((180.0, 1.0), (900.0, 2.0), (3000.0, 3.0)):
        assert tools.weight_u(grams) == approx(hypot(steps / sqrt(3), 0.5 / sqrt(3)))
    assert USUAL.weight_u(20.0) == approx(0.1 * USUAL.weight_u(180.0))
    assert Instruments(scale_step=0.0).weight_u(500.0) == 0.0


def test_a_cylinder_of_class_b() -> None:
    """ISO 4788: 1,000 mL of class B to 10 mL; a warm thermometer adds little beside it."""
    u = USUAL.volume_u(1000.0, 80.0)
    assert 10 / sqrt(3) < u < 1.02 * 10 / sqrt(3)


def test_moisture_by_what_is_known_of_it() -> None:
    dried, fresh = USUAL.moisture_u(0.1, measured=False), USUAL.moisture_u(0.7, measured=False)
    assert USUAL.moisture_u(0.1, measured=True) < dried < fresh
    assert USUAL.moisture_u(0.7, measured=True) == USUAL.moisture_u(0.1, measured=True)
    assert USUAL.moisture_u(0.3, measured=False) == dried


def test_the_usual_half_widths() -> None:
    """Regulation (EU) 1169/2011, annex XII: 0.3 % vol of a declared strength; ISO 4788, class B: 1 %.

    The others are common practice without a source: held here, so that nobody moves one unseen.
    """
    assert (USUAL.spirit, USUAL.cylinder, USUAL.hydrometer) == (0.3, 0.01, 0.5)
    assert (USUAL.scale_step, USUAL.fine_step, USUAL.thermometer, USUAL.laboratory) == (1.0, 0.1, 1.0, 0.1)
    assert (USUAL.moisture, USUAL.moisture_fresh, USUAL.moisture_measured) == (0.04, 0.10, 0.01)
    assert USUAL.level == 0.1


def test_a_level_in_a_pot_is_a_slice_of_it() -> None:
    """A half-width of 0.1 cm (GUM 4.3.7) over 500 cm2 is 50 mL either way."""
    assert USUAL.level_u(500.0) == approx(50 / sqrt(3))
    with pytest.raises(OutOfRange, match="The pot's area must be more than 0"):
        USUAL.level_u(0.0)


def test_shares_are_shown_in_percent_and_kept_of_one() -> None:
    """ISO 4788, class B: 10 mL of 1,000 are 1 %."""
    shown = {one.key: getattr(USUAL, one.key) / one.factor for one in LIMITS}
    assert (shown["cylinder"], shown["moisture"], shown["scale_step"]) == (approx(1), approx(4), 1.0)


@pytest.mark.parametrize(
    "asked", [lambda x: USUAL.weight_u(x), lambda x: USUAL.volume_u(x), lambda x: rectangular(x)]
)
def test_nothing_is_less_than_nothing(asked: Callable[[float], float]) -> None:
    with pytest.raises(OutOfRange, match="must be 0 or more, not -1"):
        asked(-1.0)


def test_a_fine_scale_is_used_below_100_g_and_steps_are_counted_in_full() -> None:
    """OIML R 76-1, table 6, class III: up to and with 500 steps one error, with 2,000 two, then three."""
    assert USUAL.weight_u(99.9) < USUAL.weight_u(100.0)
    u = {steps: Instruments(scale_step=1.0).weight_u(float(steps)) for steps in (500, 501, 2000, 2001)}
    half = 0.5 / sqrt(3)
    assert [sqrt(one**2 - half**2) * sqrt(3) for one in u.values()] == approx([1, 2, 2, 3])


def test_a_warm_thermometer_matters_by_the_spirits_expansion() -> None:
    """Ethanol at 20 °C expands by about 1.09e-3 a degree (CRC Handbook, from memory)."""
    warm = Instruments(cylinder=0.0, thermometer=1.0)
    assert warm.volume_u(1000.0, 100.0) == approx(1.09 / sqrt(3), rel=0.03)
    assert Instruments(cylinder=0.0, thermometer=0.0).volume_u(1000.0, 100.0) == approx(0.0, abs=1e-9)


def test_the_workshops_own_half_widths() -> None:
    own = USUAL.own({"cylinder": 0.005, "nobody knows": 1.0})
    assert own.cylinder == 0.005 and own.spirit == USUAL.spirit
    with pytest.raises(OutOfRange, match="Measuring cylinder must be 0 or more"):
        USUAL.own({"cylinder": -0.1})


def test_every_half_width_has_words_and_a_source() -> None:
    assert {one.key for one in LIMITS} == set(Instruments.__dataclass_fields__)
    assert all(one.words and one.source for one in LIMITS)
    assert all(cause.words and cause.remedy for cause in CAUSES.values())


def test_a_later_pour_is_a_source_of_its_own() -> None:
    """Two pours of 100 +- 1 mL: root two, not two (GUM equation 11a)."""
    jar = Uncertain(500.0, {"menstruum": 0.0}), Uncertain(60.0, {"spirit": 0.0})
    for mark in ("0", "1"):
        jar = sure.poured_in(*jar, added_ml=Known(100.0, 1.0), added_abv=Known(60.0), mark=mark)
    assert jar[0].u == approx(sqrt(2.0), rel=1e-6)
    assert jar[0].chief == "added"
    left = sure.taken_out(jar[0], taken_ml=Known(50.0, 2.0), mark="2")
    assert left.u == approx(sqrt(6.0), rel=1e-6)
    assert left.value == approx(jar[0].value - 50.0)


def test_one_lots_error_is_met_again_wherever_it_is_poured() -> None:
    """GUM 5.2.2, note 1, and F.1.2.3: halves of one lot are as unsure as it; of two, root two less.

    Equal volumes of one strength: neither shrinks, so the strength is their mean.
    """
    found = {}
    for second in ("S-1", "S-2"):
        jar = Uncertain(500.0), of_one("spirit", "S-1", 60.0, 0.2)
        more = of_one("spirit", second, 60.0, 0.2)
        _, both = sure.poured_in(*jar, added_ml=Known(500.0), added_abv=more, mark="0")
        found[second] = both
    assert found["S-1"].u == approx(0.2, rel=1e-3)
    assert found["S-2"].u == approx(0.2 / sqrt(2), rel=1e-3)
    assert set(found["S-2"].shares) == {"spirit"} and sum(found["S-2"].shares.values()) == approx(1.0)


def test_a_jar_poured_into_another_keeps_its_own_sources_apart() -> None:
    """GUM equation 11a: two herbs that nobody measured are independent; one lot of spirit is not."""
    sources = {"moisture": 0.3, "spirit@=S-1": 0.4}
    one, two = Uncertain(60.0, sources), Uncertain(60.0, sources)
    assert two.apart("9").parts == {"moisture@9": 0.3, "spirit@=S-1": 0.4}
    assert two.apart("9").apart("1").parts == {"moisture@9@1": 0.3, "spirit@=S-1": 0.4}
    _, both = sure.poured_in(Uncertain(500.0), one, added_ml=Uncertain(500.0), added_abv=two, mark="9")
    assert both.u == approx(sqrt(2 * 0.15**2 + 0.4**2), rel=1e-3)


def test_errors_of_one_source_add_up() -> None:
    """GUM 5.2.2, note 1: 300 mL known to 0.2 and 100 mL known to 0.4 % vol are 400 mL known to 0.25."""
    assert sure.as_one([(300.0, 0.2), (100.0, 0.4)]) == approx(0.25)
    assert sure.as_one([(170.0, 0.31)]) == approx(0.31)


def test_no_more_than_three_sources_are_named_and_none_that_hardly_counts() -> None:
    found = Uncertain(1.0, {"moisture": 5.0, "spirit": 4.0, "herb": 3.0, "jar": 2.9, "water": 0.1})
    assert [share for _, share in sure.in_words(found)] == approx([25 / 58.42, 16 / 58.42, 9 / 58.42])
    slight = Uncertain(1.0, {"moisture": sqrt(96), "spirit": 2.0})
    assert len(sure.in_words(slight)) == 1


def test_the_words_name_the_chief_source_and_what_to_do() -> None:
    found = Uncertain(20.0, {"moisture": 0.9, "spirit@3": 0.3, "herb": 0.01})
    assert sure.why(found) == (
        "Chiefly the herb’s moisture, 90\u00a0%: dry a weighed sample and enter its moisture."
    )
    assert [words for words, _ in sure.in_words(found)] == [
        "the herb’s moisture", "the strength of the menstruum",
    ]  # fmt: skip
    assert sure.why(Uncertain(20.0)) == ""
    assert sure.cause_of("nobody knows") is CAUSES["jar"]


def test_a_figure_keeps_its_own_digits_with_the_uncertainty_beside_it() -> None:
    shown = with_plant_water(900, 80, 180, 0.09).figures()["abv"]
    ranged = replace(shown, low=70.0, high=85.0)
    told = sure.with_u(ranged, Uncertain(shown.value, {"moisture": 0.03, "spirit": 0.01}))
    assert (told.low, told.high) == (None, None)
    assert (told.value, told.digits, told.working) == (shown.value, shown.digits, shown.working)
    assert told.u == approx(hypot(0.03, 0.01))
    assert told.chiefly[0] == ("the herb’s moisture", approx(0.9))
    assert sure.with_u(shown, None) is shown
    assert sure.with_u(shown, Uncertain(shown.value)) is shown
    both = sure.with_all({"abv": shown, "ml": shown}, {"abv": Uncertain(shown.value, {"spirit": 0.2})})
    assert (both["abv"].u, both["ml"]) == (0.2, shown)


@given(st.floats(-50, 50), st.floats(-50, 50), SOME, SOME, SOME)
def test_a_linear_function_is_exact(a: float, b: float, ux: float, uy: float, k: float) -> None:
    found = propagate(lambda x, y: a * x + b * y, {"x": Known(1.0, ux), "y": Known(2.0, uy)})
    assert found.u == approx(hypot(a * ux, b * uy), rel=1e-6, abs=1e-9)
    more = propagate(lambda x, y: a * x + b * y, {"x": Known(1.0, k * ux), "y": Known(2.0, k * uy)})
    assert more.u == approx(k * found.u, rel=1e-6, abs=1e-9)


@given(SOME, SOME)
def test_a_difference_of_the_same_thing_is_sure(u: float, other: float) -> None:
    both = Uncertain(10.0, {"a": u, "b": other})
    found = propagate(lambda x, y: x - y, {"x": both, "y": both})
    assert found.u == approx(0.0, abs=1e-9)


@given(st.floats(100, 2000), st.floats(20, 95), st.floats(0.05, 0.35), st.floats(0.06, 0.3))
def test_shares_are_whole_and_chaining_loses_nothing(
    ml: float, abv: float, bulk: float, moist: float
) -> None:
    inputs = {
        "menstruum": Known(ml, 0.005 * ml), "spirit": Known(abv, 0.2), "herb": Known(bulk * ml, 0.4),
        "moisture": Known(moist, 0.02),
    }  # fmt: skip
    volume, strength = sure.in_jar(**inputs)
    assert sum(strength.shares.values()) == approx(1.0)
    pure = propagate(lambda v, a: v * a / 100, {"v": volume, "a": strength})
    # All the ethanol is what was poured, whatever water the herb brought.
    assert pure.u == approx(hypot(0.005 * ml * abv / 100, ml * 0.2 / 100), rel=0.02)


def test_what_comes_off_the_press_rests_on_the_retention() -> None:
    """GUM 5.1.2: u of V - r W (1 - M) in r is W (1 - M) u(r)."""
    found = sure.expected_off(
        jar_ml=Known(916.0), herb=Known(180.0), moisture=Known(0.09), retention=Known(1.2, 0.1)
    )
    assert found.u == approx(180 * 0.91 * 0.1, rel=1e-6)
    assert found.chief == "retention"


def test_the_extract_wanted_moves_with_the_tincture() -> None:
    """Volumes of extract are in proportion to the tincture's at a given strength."""
    found = sure.extract_wanted(pressed=Known(760.0, 7.6), tincture=Known(78.7), target=28.0)
    assert found["water_ml"].u / found["water_ml"].value == approx(0.01, rel=1e-6)
    assert found["final_ml"].u / found["final_ml"].value == approx(0.01, rel=1e-6)


def test_herb_per_ml_adds_relative_squares() -> None:
    """GUM 5.1.6, equation 12."""
    found = sure.herb_per_ml(
        herb=Known(180.0, 1.8), jar_ml=Known(916.0), pressed=Known(760.0), final_ml=Known(2140.0, 21.4)
    )
    assert found["by_all_herb"].u / found["by_all_herb"].value == approx(sqrt(2) * 0.01, rel=1e-3)


def test_hours_of_a_pot_rest_on_its_rate() -> None:
    """GUM 5.1.6, equation 12: a rate to 10 % is a time to 10 %."""
    found = sure.until(now=Known(3000.0), rate=Known(400.0, 40.0), target_ml=1400.0)
    assert found["hours"].u == approx(0.4, rel=0.02)
    assert found["dry_hours"].u == approx(0.75, rel=0.02)


def test_spirit_to_fortify_counts() -> None:
    plain, with_more = (
        sure.together(
            pressed=Known(760.0), tincture=Known(78.7), extract=Known(2800.0), left=Known(0.0), more=more
        )[1]
        for more in (None, (Known(100.0, 1.0), Known(96.0, 0.2)))
    )
    assert plain.u == 0.0 and with_more.u > 0.0
    assert with_more.value > plain.value


def test_what_the_extract_may_hold_counts() -> None:
    """GUM 5.1.2: 0.3 % vol in two thirds of the whole are about 0.2 % vol of it."""
    _, both = sure.together(
        pressed=Known(700.0), tincture=Known(78.7), extract=Known(1400.0), left=Known(0.3, 0.3)
    )
    assert both.u == approx(0.2, rel=0.05) and both.chief == "left"


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_one_side_out_of_range_keeps_the_sign_of_the_other(side: float) -> None:
    """GUM F.1.2.3: a thing taken from itself is sure, though f is defined on one side of it only."""

    def f(x: float, y: float) -> float:
        if side * x > side * 10.0:
            raise OutOfRange("This lies outside of the range.")
        return x - y

    both = Uncertain(10.0, {"a": 1.0})
    assert propagate(f, {"x": both, "y": both}).u == approx(0.0, abs=1e-12)


def test_both_sides_out_of_range_is_refused() -> None:
    with pytest.raises(OutOfRange):
        sure.extract_wanted(pressed=Known(760.0), tincture=Known(28.0, 200.0), target=28.0)

"""From spirit to bottle: the linear rule against 100,000 seeded draws of everything that was measured.

JCGM 101:2008 (GUM Supplement 1), clause 8: draws check the linear rule.
The draws mix by OIML R 22 in whole arrays, written here apart from the functions under test.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pytest import approx

from batches.calc import sure
from batches.calc.arrays import densities
from batches.calc.extraction import pressed as pressed_off
from batches.calc.instruments import USUAL, rectangular
from batches.calc.mixing import blend, with_plant_water
from batches.calc.uncertain import Known, Uncertain, spread

DRAWS, SEED = 100_000, 20260714
NAMES = ("menstruum abv", "jar ml", "jar abv", "retained ml", "marc ethanol ml", "combined abv")
# 1 L of menstruum from a spirit of 96 %, on 180 g of herb; what came off, and the extract for it.
SPIRIT, WATER, POURED, HERB, PRESSED, EXTRACT = 830.0, 190.0, 900.0, 180.0, 760.0, 1400.0
INPUTS = {
    "spirit": Known(96.0, rectangular(USUAL.spirit)),
    "spirit_ml": Known(SPIRIT, USUAL.volume_u(SPIRIT, 96.0)),
    "water": Known(WATER, USUAL.volume_u(WATER)),
    "menstruum": Known(POURED, USUAL.volume_u(POURED, 80.0)),
    "herb": Known(HERB, USUAL.weight_u(HERB)),
    "moisture": Known(0.09, USUAL.moisture_u(0.09, measured=False)),
    "pressed": Known(PRESSED, USUAL.volume_u(PRESSED, 79.0)),
    "extract": Known(EXTRACT, USUAL.volume_u(EXTRACT)),
}
EVEN = ("spirit", "moisture")  # anywhere in their range as likely; the others, of several parts, are normal

SHARES = np.linspace(0.0, 1.0, 20_001)
ETHANOL = float(densities(1.0, 20.0))
STRENGTHS = 100.0 * SHARES * densities(SHARES, 20.0) / ETHANOL


def mix(*parts: tuple[Any, Any]) -> tuple[Any, Any]:
    """(mL, % vol) of (mL, % vol) arrays: masses and ethanol masses add, by OIML R 22."""
    mass = ethanol = 0.0
    for ml, abv in parts:
        p = np.interp(abv, STRENGTHS, SHARES)
        grams = ml * densities(p, 20.0) / 1000.0
        mass, ethanol = mass + grams, ethanol + grams * p
    p = ethanol / mass
    density = densities(p, 20.0)
    return mass / density * 1000.0, 100.0 * p * density / ETHANOL


def drawn() -> dict[str, Any]:
    dice = np.random.default_rng(SEED)
    return {
        name: known.value + known.u * np.sqrt(3.0) * dice.uniform(-1.0, 1.0, DRAWS)
        if name in EVEN
        else dice.normal(known.value, known.u, DRAWS)
        for name, known in INPUTS.items()
    }


@pytest.fixture(scope="module")
def draws() -> dict[str, Any]:
    x = drawn()
    _, menstruum_abv = mix((x["spirit_ml"], x["spirit"]), (x["water"], 0.0))
    water_ml = x["herb"] * x["moisture"] / float(densities(0.0, 20.0)) * 1000.0
    jar_ml, jar_abv = mix((x["menstruum"], menstruum_abv), (water_ml, 0.0))
    retained = jar_ml - x["pressed"]
    _, combined = mix((x["pressed"], jar_abv), (x["extract"], 0.0))
    return dict(
        zip(
            NAMES,
            (menstruum_abv, jar_ml, jar_abv, retained, retained * jar_abv / 100.0, combined),
            strict=True,
        )
    )


def in_one(**x: float) -> tuple[float, ...]:
    """The whole chain as one plain function of what was measured."""
    made = blend([(x["spirit_ml"], x["spirit"]), (x["water"], 0.0)])
    jar = with_plant_water(x["menstruum"], made.abv, x["herb"], x["moisture"])
    off = pressed_off(
        jar_ml=jar.ml, jar_abv=jar.abv, herb_g=x["herb"], moisture=x["moisture"], pressed_ml=x["pressed"]
    )
    combined = blend([(x["pressed"], jar.abv), (x["extract"], 0.0)])
    return made.abv, jar.ml, jar.abv, off.retained_ml, off.marc_ethanol_ml, combined.abv


def chained(*, forgetting: bool = False) -> dict[str, Uncertain]:
    """Step by step; `forgetting` passes on value and u alone, as if each step were a source of its own."""

    def passed(one: Uncertain) -> Known | Uncertain:
        return Known(one.value, one.u) if forgetting else one

    x = INPUTS
    _, menstruum = sure.made_up(spirit_ml=x["spirit_ml"], spirit=x["spirit"], water=x["water"])
    jar_ml, jar_abv = sure.in_jar(
        menstruum=x["menstruum"], spirit=passed(menstruum), herb=x["herb"], moisture=x["moisture"]
    )
    held = sure.held_back(
        jar_ml=passed(jar_ml), abv=passed(jar_abv), herb=x["herb"], moisture=x["moisture"],
        pressed=x["pressed"],
    )  # fmt: skip
    _, both = sure.together(
        pressed=x["pressed"], tincture=passed(jar_abv), extract=x["extract"], left=Known(0.0)
    )
    found = (menstruum, jar_ml, jar_abv, held["retained_ml"], held["marc_ethanol_ml"], both)
    return dict(zip(NAMES, found, strict=True))


@pytest.mark.parametrize("name", NAMES)
def test_step_by_step_agrees_with_the_draws(draws: dict[str, Any], name: str) -> None:
    found = chained()[name]
    assert found.u == approx(float(np.std(draws[name], ddof=1)), rel=0.05)
    assert found.value == approx(float(np.mean(draws[name])), abs=0.2 * found.u)


@pytest.mark.parametrize("name", NAMES)
def test_step_by_step_is_the_same_as_all_in_one(name: str) -> None:
    """Keeping each source through the steps loses nothing: GUM F.1.2.3."""
    whole = dict(zip(NAMES, spread(in_one, INPUTS), strict=True))[name]
    assert chained()[name].u == approx(whole.u, rel=0.002)
    assert chained()[name].value == approx(whole.value)


def test_forgetting_the_sources_would_miss(draws: dict[str, Any]) -> None:
    """Volume and strength of the jar rest on the same moisture: taken as independent, the ethanol of the marc
    is told 4 % less sure than the draws find it. The other steps share no source that matters."""
    kept, lost = chained(), chained(forgetting=True)
    spread_of = float(np.std(draws["marc ethanol ml"], ddof=1))
    assert abs(kept["marc ethanol ml"].u / spread_of - 1) < 0.01
    assert 0.03 < lost["marc ethanol ml"].u / spread_of - 1 < 0.06
    assert lost["combined abv"].u == approx(kept["combined abv"].u)


def test_about_95_in_100_draws_lie_within_twice_u(draws: dict[str, Any]) -> None:
    """GUM 6.3.3: k = 2 is about 95 % for a nearly normal result."""
    found = chained()["combined abv"]
    within = np.mean((draws["combined abv"] > found.low) & (draws["combined abv"] < found.high))
    assert 0.94 < float(within) < 0.97

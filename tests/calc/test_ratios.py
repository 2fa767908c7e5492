"""Ratios by volume, by mass and in ounces, yields: what must always hold, and what is refused.

The worked values of the trade stand in test_trade_ratios.py.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.errors import OutOfRange
from batches.calc.ratios import RatioBasis, folk, menstruum_density, ounces, ratio
from batches.calc.yields import native_yield
from tests.calc.plain_r22 import weight

herb, parts, strengths = st.floats(1, 5000), st.floats(0.2, 50), st.floats(0, 96)


@given(herb, parts, strengths)
def test_there_and_back_between_volume_and_mass(w: float, r: float, abv: float) -> None:
    by_volume = ratio(herb_g=w, ratio=r, abv=abv)
    back = ratio(herb_g=w, ratio=by_volume.by_mass, basis=RatioBasis.MASS, abv=abv)
    assert back.by_volume == approx(r)
    assert (back.menstruum_ml, back.menstruum_g) == (
        approx(by_volume.menstruum_ml),
        approx(by_volume.menstruum_g),
    )
    assert by_volume.menstruum_g == approx(weight(w * r, abv), rel=1e-8)  # OIML R 22, reckoned apart
    assert by_volume.mg_per_ml * by_volume.menstruum_ml == approx(1000 * w)


def test_oil_goes_by_its_own_density() -> None:
    """Olive oil 0.913 g/mL (Codex Stan 33: 0.910 to 0.916): 3 parts by mass are 3.286 by volume."""
    found = ratio(herb_g=250, ratio=3, basis=RatioBasis.MASS, density=0.913)
    assert found.menstruum_g == approx(750)
    assert found.by_volume == approx(3 / 0.913)
    assert found.menstruum_ml == approx(821.5, abs=0.05)


def test_a_folk_jar_has_a_ratio_only_once_both_were_weighed() -> None:
    assert folk(herb_g=None, menstruum_g=560, abv=40) is None
    assert folk(herb_g=120, menstruum_g=None, abv=40) is None
    found = folk(herb_g=120, menstruum_g=560, abv=40)
    assert found is not None and found.basis is RatioBasis.MASS
    assert found.by_mass == approx(560 / 120)
    assert weight(found.menstruum_ml, 40) == approx(560, rel=1e-8)


@given(herb, parts)
def test_ounces_are_four_percent_more_menstruum(oz: float, r: float) -> None:
    """1 US fl oz is 231/128 cubic inches, 1 oz is 0.45359237 kg / 16 (NIST Handbook 44, appendix C)."""
    found = ounces(herb_oz=oz, ratio=r)
    fluid, ounce = 231 / 128 * 2.54**3, 453.59237 / 16
    assert found.by_volume / r == approx(fluid / ounce)
    assert found.menstruum_ml == approx(found.herb_g * found.by_volume)
    assert found.fl_oz * fluid == approx(found.menstruum_ml)


@given(herb, st.floats(10, 1e4), st.floats(0.05, 1.0))
def test_put_in_is_recovered_and_retained(w: float, ml: float, share: float) -> None:
    found = native_yield(herb_g=w, put_in_ml=ml, recovered_ml=ml * share)
    assert (found.der + found.retained_per_g) * w == approx(ml)
    assert found.solvent_ratio == approx(found.der * (1 + found.overstated / 100))


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: ratio(herb_g=0, ratio=5, abv=60), "The herb must be more than 0"),
        (lambda: ratio(herb_g=1, ratio=0, abv=60), "The ratio must be more than 0"),
        (
            lambda: ratio(herb_g=1, ratio=5),
            "a strength or, where it is no spirit, a density: give one of them.",
        ),
        (lambda: ratio(herb_g=1, ratio=5, abv=60, density=0.9), "give one of them."),
        (lambda: menstruum_density(density=0), "A menstruum weighs between 0 and 2 g/mL, not 0."),
        (lambda: menstruum_density(density=913), "A menstruum weighs between 0 and 2 g/mL, not 913."),
        (lambda: menstruum_density(abv=120), "A strength lies between 0 and 100 % vol"),
        (lambda: folk(herb_g=0, menstruum_g=1, abv=40), "The herb must be more than 0"),
        (lambda: ounces(herb_oz=0, ratio=5), "The herb must be more than 0"),
        (lambda: ounces(herb_oz=1, ratio=-5), "The ratio must be more than 0"),
        (lambda: native_yield(herb_g=0, put_in_ml=5, recovered_ml=4), "The herb must be more than 0"),
        (lambda: native_yield(herb_g=1, put_in_ml=0, recovered_ml=4), "The menstruum must be more than 0"),
        (
            lambda: native_yield(herb_g=1, put_in_ml=5, recovered_ml=0),
            "What was recovered must be more than 0",
        ),
        (
            lambda: native_yield(herb_g=100, put_in_ml=500, recovered_ml=520),
            "520 mL cannot be recovered of 500 mL put in: look whether a top-up or the herb's own water",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

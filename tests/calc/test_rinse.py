"""The rinse: against a mass balance reckoned here on its own, and against what must always hold."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import density_from_abv, mass_fraction_from_abv
from batches.calc.errors import OutOfRange
from batches.calc.extraction import expected_press_ml
from batches.calc.mixing import mix_by_mass, with_plant_water
from batches.calc.rinse import Rinse, rinse, rinses

MOLE_L = 8.314462618 * 293.15 / 101.325  # ideal gas, 20 °C, 101.325 kPa


def reishi(times: float) -> Rinse:
    """200 g at 8 % moisture in 1,000 mL of 60 %, hand-pressed to 0.8 mL per g dry: 868 mL at 59.09 %."""
    jar = with_plant_water(1000, 60, 200, 0.08)
    off = expected_press_ml(jar_ml=jar.ml, herb_g=200, moisture=0.08, retention=0.8)
    held = jar.ml - off
    return rinse(
        tincture_ml=off, abv=jar.abv, herb_g=200, retained_ml=held, rinse_ml=times * held, floor_abv=45
    )


def test_an_equal_rinse_saves_about_half_of_the_reishi_marcs_ethanol() -> None:
    """87 mL (69 g) in the marc; recomputed in grams from OIML R 22 density and mass fraction alone."""
    found = reishi(1)
    held, abv = found.retained_ml, found.abv
    grams = held * density_from_abv(abv) / 1000
    ethanol = grams * mass_fraction_from_abv(abv)
    mixed_ml, mixed_abv = mix_by_mass(grams + held * 0.99820123, ethanol / (grams + held * 0.99820123))
    assert ethanol == approx(69, abs=0.6)
    assert (found.mixed_ml, found.off_abv) == (approx(mixed_ml), approx(mixed_abv))
    assert found.off_ml == approx(mixed_ml - held)
    assert found.recovered_ml * 0.78924 == approx(ethanol * (1 - held / mixed_ml), rel=1e-5)
    assert 0.48 < found.recovered_ml / (held * abv / 100) < 0.5
    # 17 g a mole over an ideal gas at the lower limit of 3.3 %: what stays, as air it can make flammable.
    left_g = ethanol * held / mixed_ml
    assert found.air_after_m3 == approx(left_g / 46.069 * MOLE_L / 1000 / 0.033, rel=1e-5)


def test_120_ml_of_ethanol_make_one_and_a_half_cubic_metres_flammable() -> None:
    """94.7 g, 49.5 L of vapour, 3.3 % lower limit: 1.5 m3; 200 mL of 60 % in the marc hold those 120 mL."""
    found = rinse(tincture_ml=1000, abv=60, herb_g=200, retained_ml=200, rinse_ml=400)
    assert found.air_before_m3 == approx(1.5, abs=0.01)
    assert found.air_before_m3 == approx(94.7 / 46.069 * MOLE_L / 1000 / 0.033, rel=1e-3)
    assert found.air_after_m3 == approx(0.5, abs=0.02)


def test_the_three_rinses_compared() -> None:
    none, same, twice = rinses(tincture_ml=868, abv=59.09, herb_g=200, retained_ml=147.2, floor_abv=45)
    assert (none.recovered_ml, none.off_ml, none.more_bottles) == (approx(0), approx(0), 0)
    assert (none.final_abv, none.ratio_after) == (approx(59.09), approx(none.ratio_before))
    assert none.recovered_ml < same.recovered_ml < twice.recovered_ml
    assert none.final_abv > same.final_abv > twice.final_abv
    assert none.air_after_m3 > same.air_after_m3 > twice.air_after_m3
    assert [each.rinse_ml for each in (none, same, twice)] == approx([0, 147.2, 294.4])
    assert same.more_bottles == 3 and same.ratio_after > same.ratio_before
    assert same.margin_abv == approx(same.final_abv - 45) and same.keeps_floor


def test_a_rinse_can_take_a_weak_tincture_below_the_floor() -> None:
    found = rinse(tincture_ml=200, abv=25, herb_g=100, retained_ml=150, rinse_ml=300, floor_abv=20)
    assert found.margin_abv < 0 and not found.keeps_floor


@given(st.floats(100, 1e4), st.floats(5, 96), st.floats(10, 1e3), st.floats(0, 3e3))
def test_no_ethanol_is_made_or_lost(tincture: float, abv: float, held: float, water: float) -> None:
    found = rinse(tincture_ml=tincture, abv=abv, herb_g=100, retained_ml=held, rinse_ml=water)
    total = (tincture + held) * abv / 100
    assert found.final_ml * found.final_abv / 100 + found.left_ml == approx(total, rel=1e-9)
    # Weak spirit and water swell a little: ethanol's partial volume is least near 20 % by mass.
    assert 0 <= found.off_ml <= water + 2e-3 * (held + water)
    assert found.off_abv <= abv + 1e-9 and found.final_abv <= abv + 1e-9
    mass = tincture * density_from_abv(abv) + held * density_from_abv(abv) + water * 998.20123
    after = found.final_ml * density_from_abv(found.final_abv) + held * density_from_abv(found.off_abv)
    assert after == approx(mass, rel=1e-7)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"abv": 0}, "The tincture lies above 0 and up to 100 % vol (R 22); 0 does not."),
        ({"retained_ml": 0}, "The liquid in the marc must be more than 0"),
        ({"rinse_ml": -1}, "The rinse must be 0 or more, not -1."),
        ({"herb_g": 0}, "The herb must be more than 0"),
    ],
)
def test_it_refuses_in_a_sentence(change: dict[str, float], sentence: str) -> None:
    given = {"tincture_ml": 800, "abv": 60, "herb_g": 200, "retained_ml": 150, "rinse_ml": 150}
    with pytest.raises(OutOfRange) as refused:
        rinse(**(given | change))
    assert sentence in str(refused.value)

"""Herb and menstruum, dose and drops: worked values of the trade, and what must always hold."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import density_from_abv
from batches.calc.dose import calibrate_drops, dose, ml_for_ethanol, standard_drinks
from batches.calc.errors import OutOfRange
from batches.calc.extraction import (
    Basis,
    dried_g,
    dry_matter_g,
    expected_press_ml,
    herb_per_ml,
    menstruum_ml_by_mass,
    menstruum_ml_by_volume,
    moisture_from_drying,
    pressed,
    ratio_by_mass,
    ratio_by_volume,
)
from batches.calc.mixing import to_target, with_plant_water
from batches.calc.obscuration import (
    apparent_abv,
    obscuration_proof,
    true_from_residue,
    true_from_residue_density,
)
from batches.calc.vapour import vapour


def test_100_g_at_1_to_5_by_volume() -> None:
    """w/v ratio as English-speaking practitioners use it: 500 mL, 200 mg/mL nominal."""
    ml = menstruum_ml_by_volume(100, 5)
    assert ml == 500
    assert herb_per_ml(herb_g=100, jar_ml=ml, pressed_ml=ml, final_ml=ml).by_all_herb == approx(200)


def test_100_g_at_1_to_5_by_mass() -> None:
    """Parts by mass as in Ph. Eur.: 500 g of 60 % vol (0.90911 g/mL) is 550.0 mL, 1:5.50 by volume."""
    ml = menstruum_ml_by_mass(100, 5, 60)
    assert ml == approx(550.0, abs=0.05)
    assert ratio_by_volume(100, ml) == approx(5.50, abs=0.005)
    assert ratio_by_mass(100, ml, 60) == approx(5)


def test_500_ml_of_95_percent_on_100_g_by_mass() -> None:
    assert 500 * density_from_abv(95) / 1000 == approx(405.7, abs=0.05)
    assert ratio_by_mass(100, 500, 95) == approx(4.06, abs=0.005)


def test_420_ml_recovered_of_500() -> None:
    """0.8 mL held back per gram, the herb's own water left out (moisture 0)."""
    found = pressed(jar_ml=500, jar_abv=60, herb_g=100, moisture=0, pressed_ml=420)
    assert (found.retained_ml, found.retention) == (approx(80), approx(0.8))


def test_ounces_to_fluid_ounces_are_not_a_metric_ratio() -> None:
    """4 oz wt at "1:5" in US fl oz: 591.5 mL on 113.4 g is 1:5.216."""
    assert ratio_by_volume(4 * 28.349523125, 20 * 29.5735295625) == approx(5.216, abs=0.0005)


def test_400_ml_recovered_of_500() -> None:
    found = pressed(jar_ml=500, jar_abv=60, herb_g=100, moisture=0, pressed_ml=400)
    assert (found.retention, found.recovery_percent) == (approx(1.0), approx(80))


@pytest.mark.parametrize(("out", "retention"), [(900, 1.0), (700, 3.0)])
def test_a_one_to_ten_tincture_keeps_one_to_three(out: float, retention: float) -> None:
    found = pressed(jar_ml=1000, jar_abv=60, herb_g=100, moisture=0, pressed_ml=out)
    assert found.retention == approx(retention)
    again = expected_press_ml(jar_ml=1000, herb_g=100, moisture=0, retention=retention)
    assert again == approx(out)


@pytest.mark.parametrize(("before", "ratio"), [(0.8, 0.2222), (0.9, 0.1111)])
def test_drying_to_ten_percent(before: float, ratio: float) -> None:
    assert dried_g(1, before, 0.1) == approx(ratio, abs=0.00005)


def test_yellow_dock_124_g_to_54_g() -> None:
    """A teaching handout's own weighing: 56.5 % water."""
    assert moisture_from_drying(124, 54) * 100 == approx(56.5, abs=0.05)


@pytest.mark.parametrize(
    ("moisture", "ratio"), [(0.6, 5.72), (0.7, 7.91), (0.8, 12.3), (0.85, 16.7), (0.9, 25.4)]
)
def test_a_fresh_one_to_two_is_like_a_weak_dried_one(moisture: float, ratio: float) -> None:
    """100 g fresh in 200 mL of 95 %: final volume over the herb dried to 10 %."""
    jar = with_plant_water(200, 95, 100, moisture)
    assert jar.ml / dried_g(100, moisture, 0.1) == approx(ratio, rel=0.005)


@pytest.mark.parametrize(
    ("retention", "out", "ethanol", "grams", "share"),
    [(2.0, 647, 217, 172, 36), (1.0, 831, 109, 86, 18), (0.8, 868, 87, 69, 15), (0.5, 923, 54, 43, 9)],
)
def test_reishi_marc_by_press(
    retention: float, out: float, ethanol: float, grams: float, share: float
) -> None:
    """200 g at 8 % moisture in 1,000 mL of 60 %, drained to pressed hard; reckoned by mass from R 22."""
    jar = with_plant_water(1000, 60, 200, 0.08)
    assert (jar.ml, jar.abv) == (approx(1015.3, abs=0.1), approx(59.09, abs=0.006))
    off = expected_press_ml(jar_ml=jar.ml, herb_g=200, moisture=0.08, retention=retention)
    found = pressed(jar_ml=jar.ml, jar_abv=jar.abv, herb_g=200, moisture=0.08, pressed_ml=off)
    assert off == approx(out, abs=0.6)
    assert found.marc_ethanol_ml == approx(ethanol, abs=0.6)
    assert found.marc_ethanol_g == approx(grams, abs=0.6)
    assert found.marc_ethanol_percent == approx(share, abs=0.6)


@pytest.mark.parametrize(
    ("target", "extract", "naive", "final", "alone", "all_herb", "bottles"),
    [
        (25, 1198, 1184, 2052.1, 83.3, 97.5, 41),
        (30, 856, 842, 1710.1, 100.0, 117.0, 34),
        (35, 611, 598, 1465.8, 116.7, 136.4, 29),
    ],
)
def test_reishi_combined(
    target: float, extract: float, naive: float, final: float, alone: float, all_herb: float, bottles: int
) -> None:
    jar = with_plant_water(1000, 60, 200, 0.08)
    off = expected_press_ml(jar_ml=jar.ml, herb_g=200, moisture=0.08, retention=0.8)
    made = to_target(off, jar.abv, target)
    herb = herb_per_ml(herb_g=200, jar_ml=jar.ml, pressed_ml=off, final_ml=made.final_ml)
    assert made.water_ml == approx(extract, abs=0.6)
    assert made.rule_of_thumb_ml == approx(naive, abs=0.6)
    assert made.final_ml == approx(final, abs=0.2)
    assert herb.on(Basis.TINCTURE_ALONE) == approx(alone, abs=0.06)
    assert herb.on(Basis.ALL_HERB) == approx(all_herb, abs=0.06)
    assert int(made.final_ml / 50) == bottles


def test_120_ml_of_ethanol_as_vapour() -> None:
    """94.7 g, 49.5 L of vapour at 20 °C, 1.5 m3 of air to the lower limit of 3.3 %."""
    found = vapour(120)
    assert found.ethanol_g == approx(94.7, abs=0.05)
    assert found.vapour_l == approx(49.5, abs=0.06)
    assert found.air_m3 == approx(1.5, abs=0.01)


def test_a_dose_of_2_ml_at_1_to_5() -> None:
    found = dose(dose_ml=2, herb_mg_per_ml=200, basis=Basis.ALL_HERB, abv=25, fill_ml=50, per_day=3)
    assert (found.herb_mg, found.doses) == (approx(400), 25)
    assert found.days == approx(8.33, abs=0.005)


@pytest.mark.parametrize(("fill", "ml", "doses"), [(50, 3, 16), (30, 1.8, 16), (30, 0.1, 300), (1, 2, 0)])
def test_only_whole_doses_count(fill: float, ml: float, doses: int) -> None:
    found = dose(dose_ml=ml, herb_mg_per_ml=1, basis=Basis.ALL_HERB, abv=25, fill_ml=fill, per_day=1)
    assert found.doses == doses


def test_a_fresh_tincture_by_its_own_final_volume() -> None:
    """100 g fresh at 80 % in 200 mL of 95 %: 2 mL stand for 732 mg fresh, 163 mg dried to 10 %."""
    jar = with_plant_water(200, 95, 100, 0.8)
    fresh = herb_per_ml(herb_g=100, jar_ml=jar.ml, pressed_ml=jar.ml, final_ml=jar.ml).by_all_herb
    assert 2 * fresh == approx(732, abs=0.5)
    assert dried_g(2 * fresh, 0.8, 0.1) == approx(163, abs=0.5)


def test_drops_of_40_percent_weighed() -> None:
    """50 drops weigh 1.085 g: 21.70 mg a drop, 43.7 drops a mL."""
    found = calibrate_drops(count=50, mass_g=1.085, density_g_ml=density_from_abv(40) / 1000)
    assert found.mg_per_drop == approx(21.70)
    assert found.drops_per_ml == approx(43.7, abs=0.05)


def test_the_standard_dropper() -> None:
    """USP <1101>: 20 drops of water at 45-55 mg each are about 1 mL."""
    found = calibrate_drops(count=20, mass_g=1.0, density_g_ml=0.99820)
    assert found.mg_per_drop == approx(50)
    assert found.drops_per_ml == approx(20, abs=0.1)


@pytest.mark.parametrize(
    ("ml", "abv", "mg", "beer", "wine", "us", "uk", "au"),
    [
        (1, 25, 197.3, 5.0, 2.0, 0.0141, 0.0247, 0.0197),
        (2, 25, 394.6, 10.0, 4.0, 0.0282, 0.0493, 0.0395),
        (2, 30, 473.5, 12.0, 4.8, 0.0338, 0.0592, 0.0474),
        (1, 60, 473.5, 12.0, 4.8, 0.0338, 0.0592, 0.0474),
        (5, 40, 1578.5, 40.0, 16.0, 0.1127, 0.1973, 0.1578),
    ],
)
def test_ethanol_in_a_dose(
    ml: float, abv: float, mg: float, beer: float, wine: float, us: float, uk: float, au: float
) -> None:
    """Standard drinks: US 14 g, UK 8 g, Australia 10 g (national definitions)."""
    found = dose(dose_ml=ml, herb_mg_per_ml=100, basis=Basis.ALL_HERB, abv=abv, fill_ml=50, per_day=1)
    assert found.ethanol_mg == approx(mg, abs=0.06)
    assert (found.beer_ml, found.wine_ml) == (approx(beer), approx(wine))
    drinks = [standard_drinks(found.ethanol_mg, grams) for grams in (14, 8, 10)]
    assert drinks == approx([us, uk, au], abs=0.00006)


@pytest.mark.parametrize(
    ("mg_per_kg", "kg", "abv", "ml"),
    [(6, 20, 30, 0.51), (15, 70, 30, 4.43), (15, 70, 60, 2.22), (75, 70, 60, 11.09)],
)
def test_millilitres_to_an_ethanol_threshold(mg_per_kg: float, kg: float, abv: float, ml: float) -> None:
    assert ml_for_ethanol(mg_per_kg=mg_per_kg, body_kg=kg, abv=abv) == approx(ml, abs=0.006)


@pytest.mark.parametrize(
    ("abv", "residue", "reads"),
    [
        (40, 1, 39.8), (40, 6, 38.5), (40, 10, 37.5), (40, 20, 34.9), (40, 30, 32.1), (40, 50, 25.7),
        (60, 10, 58.3), (60, 20, 56.5), (60, 50, 50.9), (30, 20, 23.4),
    ],
)  # fmt: skip
def test_solids_hide_strength(abv: float, residue: float, reads: float) -> None:
    """k = 0.385 for sucrose-like solids (OIV expresses extract as sucrose)."""
    assert apparent_abv(abv=abv, residue_g_l=residue) == approx(reads, abs=0.06)
    assert true_from_residue(
        apparent=apparent_abv(abv=abv, residue_g_l=residue), residue_g_l=residue
    ) == approx(abv, abs=1e-8)


def test_the_residue_made_up_to_volume_gives_the_strength_back() -> None:
    """Tabarie: 40 % vol with 20 g/L of solids that add 0.385 kg/m3 a gram to spirit and water alike."""
    assert true_from_residue_density(sample=density_from_abv(40) + 7.7, residue=998.20123 + 7.7) == approx(
        40, abs=1e-6
    )


@given(st.floats(10, 1e4), st.floats(0, 0.9), st.floats(2, 10), st.floats(0, 1.9))
def test_pressed_and_expected_agree(herb: float, moisture: float, ratio: float, retention: float) -> None:
    jar = with_plant_water(herb * ratio, 70, herb, moisture)
    off = expected_press_ml(jar_ml=jar.ml, herb_g=herb, moisture=moisture, retention=retention)
    found = pressed(jar_ml=jar.ml, jar_abv=jar.abv, herb_g=herb, moisture=moisture, pressed_ml=off)
    assert found.retention == approx(retention, abs=1e-9)
    assert found.retained_ml + off == approx(jar.ml, rel=1e-12)
    assert found.marc_ethanol_ml + off * jar.abv / 100 == approx(jar.ml * jar.abv / 100, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: pressed(jar_ml=900, jar_abv=60, herb_g=180, moisture=0.1, pressed_ml=950),
            "950 mL cannot come off a jar that held 900 mL",
        ),
        (
            lambda: pressed(jar_ml=900, jar_abv=60, herb_g=180, moisture=1, pressed_ml=850),
            "The herb's dry matter must be more than 0",
        ),
        (
            lambda: expected_press_ml(jar_ml=200, herb_g=100, moisture=0, retention=2),
            "The herb would hold all the liquid: nothing would come off. Use a higher ratio.",
        ),
        (lambda: dried_g(100, 0.8, 1.0), "A dried herb cannot be all water."),
        (lambda: dry_matter_g(100, 9), "The moisture must lie between 0 and 1, not 9."),
        (lambda: moisture_from_drying(50, 60), "It cannot weigh more dry (60 g) than wet (50 g)."),
        (
            lambda: herb_per_ml(herb_g=100, jar_ml=500, pressed_ml=600, final_ml=900),
            "More tincture cannot be used than the jar held.",
        ),
        (
            lambda: calibrate_drops(count=19, mass_g=1, density_g_ml=1),
            "Count 20 drops or more, not 19.",
        ),
        (
            lambda: dose(dose_ml=2, herb_mg_per_ml=1, basis=Basis.ALL_HERB, abv=101, fill_ml=50, per_day=1),
            "A strength lies between 0 and 100 % vol.",
        ),
        (
            lambda: obscuration_proof(solids_g_per_100ml=0.5, proof=120),
            "The factor holds from 80 to 100 proof; 120 is outside.",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

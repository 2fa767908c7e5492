"""Ethanol in a dose, drops and standard drinks, against published tables and figures reckoned here."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import density_from_abv
from batches.calc.dose import (
    Drops,
    calibrate_drops,
    calibration,
    estimate_drops,
    ethanol_in_dose,
    ml_for_ethanol,
)
from batches.calc.drinks import DRINKS, EU_2003, EU_2019, Drink, drinks_in, step_of
from batches.calc.errors import OutOfRange
from batches.calc.intake import daily_intake
from batches.calc.sources import Mark

GRAMS = {row.place: row.grams for row in DRINKS}


@pytest.mark.parametrize(
    ("ml", "abv", "mg", "per_kg", "rise", "beer", "wine", "us", "uk", "au"),
    [
        (1, 25, 197.3, 2.82, 0.0047, 5.0, 2.0, 0.0141, 0.0247, 0.0197),
        (2, 25, 394.6, 5.64, 0.0094, 10.0, 4.0, 0.0282, 0.0493, 0.0395),
        (2, 30, 473.5, 6.76, 0.0113, 12.0, 4.8, 0.0338, 0.0592, 0.0474),
        (1, 60, 473.5, 6.76, 0.0113, 12.0, 4.8, 0.0338, 0.0592, 0.0474),
        (5, 40, 1578.5, 22.55, 0.0376, 40.0, 16.0, 0.1127, 0.1973, 0.1578),
    ],
)
def test_every_column_of_ethanol_in_a_dose(
    ml: float, abv: float, mg: float, per_kg: float, rise: float, beer: float, wine: float,
    us: float, uk: float, au: float,
) -> None:  # fmt: skip
    """70 kg, 0.6 L/kg; ethanol 789.24 g/L at 20 °C (OIML R 22); drinks of 14, 8 and 10 g."""
    found = ethanol_in_dose(dose_ml=ml, abv=abv)
    assert found.ethanol_mg == approx(ml * abv * 7.8924, rel=1e-5) == approx(mg, abs=0.06)
    assert found.mg_per_kg == approx(per_kg, abs=0.006)
    assert found.rise_g_l == approx(rise, abs=0.00006)
    assert (found.beer_ml, found.wine_ml) == (approx(beer), approx(wine))
    made = {row.place: count for row, count in drinks_in(found.ethanol_mg)}
    places = ("United States", "United Kingdom", "Australia")
    assert [made[place] for place in places] == approx([us, uk, au], abs=0.00006)
    assert found.drinks(14) == made["United States"]


def test_the_volume_ethanol_spreads_in_agrees_with_the_regulators_own_pairs() -> None:
    """TGA on the EMA annex: 75 mg/kg and a rise of 0.125 g/L; 6 mg/kg and 0.01; 1.8 g/kg and about 3 g/L."""
    for mg_per_kg, rise in ((75, 0.125), (6, 0.01), (1800, 3.0)):
        ml = ml_for_ethanol(mg_per_kg=mg_per_kg, body_kg=70, abv=40)
        assert ethanol_in_dose(dose_ml=ml, abv=40).rise_g_l == approx(rise, rel=0.001)


@given(st.floats(0.01, 100), st.floats(0, 100), st.floats(1, 200))
def test_a_dose_and_the_volume_for_its_ethanol_are_inverse(ml: float, abv: float, kg: float) -> None:
    found = ethanol_in_dose(dose_ml=ml, abv=abv, body_kg=kg)
    if abv > 0.01:
        assert ml_for_ethanol(mg_per_kg=found.mg_per_kg, body_kg=kg, abv=abv) == approx(ml)
    assert found.beer_ml * 0.05 == approx(found.wine_ml * 0.125)


def test_standard_drinks_are_data() -> None:
    assert (
        GRAMS["United States"] == 14 and GRAMS["Japan"] == 19.75 and GRAMS["WHO, AUDIT questionnaire"] == 10
    )
    assert GRAMS["United Kingdom"] == approx(10 * 0.78924, abs=0.11), "a UK unit is 10 mL of ethanol"
    assert {row.place for row in DRINKS if row.mark is Mark.MIXED} >= {"Austria", "Italy", "Mexico", "India"}
    assert all(row.source for row in DRINKS) and len(GRAMS) == len(DRINKS)
    for row in DRINKS:
        assert (row.low or row.grams) <= row.grams <= (row.high or row.grams)
    own = Drink("Here", 11, source="our own", mark=Mark.PRACTICE, dated=date(2026, 1, 1))
    assert drinks_in(22_000, [own]) == ((own, 2.0),)


@pytest.mark.parametrize(
    ("mg", "words"), [(0, "less"), (99.9, "less"), (100, "100 mg"), (3000, "3 g or more")]
)
def test_the_step_of_a_dose_under_the_2003_rule(mg: float, words: str) -> None:
    """EC guideline CPMP/463/00 (2003): under 100 mg, 100 mg to 3 g, 3 g and more in a dose."""
    assert step_of(mg, EU_2003).words.startswith(words)


@pytest.mark.parametrize(("per_kg", "least"), [(14.9, 0), (15, 15), (74.9, 15), (80, 75)])
def test_the_step_of_a_dose_under_the_2019_rule(per_kg: float, least: float) -> None:
    """EMA/CHMP/302620/2017 (2019): 15 and 75 mg/kg; its rows are from memory and marked so."""
    step = step_of(per_kg, EU_2019)
    assert (step.least, step.mark, step.dated) == (least, Mark.MEMORY, date(2019, 11, 22))


def drops(*grams: float) -> list[Drops]:
    return [calibrate_drops(count=50, mass_g=m, density_g_ml=density_from_abv(40) / 1000) for m in grams]


def test_three_runs_of_drops() -> None:
    """50 drops of 40 % weigh 1.085 g: 43.7 to the mL; the scatter by the textbook's sample deviation."""
    found = calibration(drops(1.085, 1.085, 1.085))
    assert (found.mean_drops_per_ml, found.spread_percent) == (approx(43.7, abs=0.05), approx(0, abs=1e-9))
    runs = drops(1.0, 1.05, 1.1)
    a, b, c = (run.drops_per_ml for run in runs)
    mean = (a + b + c) / 3
    variance = ((a - mean) ** 2 + (b - mean) ** 2 + (c - mean) ** 2) / 2
    assert calibration(runs).spread_percent == approx(100 * variance**0.5 / mean)


@pytest.mark.parametrize(("abv", "drops_ml"), [(0, 20), (25, 37), (40, 44), (60, 47), (95, 52)])
def test_drops_estimated_from_the_surface_tension(abv: float, drops_ml: float) -> None:
    """Tate's law as other tensions give it (from memory): within 4 %."""
    assert estimate_drops(abv=abv).drops_per_ml == approx(drops_ml, rel=0.04)


@pytest.mark.parametrize(("abv", "counted"), [(49, 137), (94, 146)])
def test_drops_counted_by_the_old_dropper(abv: float, counted: int) -> None:
    """Gorgas, dental materia medica: 60 minims (3.697 mL) are 60 drops of water, 137 and 146 of alcohol."""
    found = estimate_drops(abv=abv, water_drops=60 / 3.697)
    assert found.low < counted / 3.697 < found.high
    assert found.drops_per_ml == approx(counted / 3.697, rel=0.06)


@given(st.floats(0, 99), st.floats(0.1, 1))
def test_stronger_spirit_makes_smaller_drops(abv: float, more: float) -> None:
    assert estimate_drops(abv=abv + more).drops_per_ml > estimate_drops(abv=abv).drops_per_ml


def test_lead_in_a_days_doses() -> None:
    """Pb 1.0 mg/kg, 6 mL a day of 1:5, which is 1.2 g of herb: 1.2 µg a day."""
    found = daily_intake(mg_per_kg=1, ml_a_day=6, herb_mg_per_ml=200)
    assert (found.herb_g, found.ug_a_day) == (approx(1.2), approx(1.2))


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: ethanol_in_dose(dose_ml=0, abv=20), "The dose must be more than 0"),
        (
            lambda: ethanol_in_dose(dose_ml=1, abv=101),
            "A strength lies between 0 and 100 % vol; 101 does not.",
        ),
        (lambda: calibration(drops(1, 1)), "Weigh the drops 3 times or more, not 2"),
        (lambda: calibration(drops(1, 1.5, 1)), "from 0 to 10 % is accepted (common practice, no source)"),
        (lambda: estimate_drops(abv=101), "from 0 to 100 % vol (Tate's law); 101 is outside."),
        (lambda: Drink("Nowhere", 0), "above 0 and up to 100 g of ethanol, not 0 g."),
        (lambda: step_of(-1, EU_2003), "The ethanol must be 0 or more, not -1."),
        (lambda: step_of(5, EU_2003[1:]), "No step of that rule begins so low."),
        (
            lambda: daily_intake(mg_per_kg=-1, ml_a_day=1, herb_mg_per_ml=1),
            "What the herb holds must be 0 or more",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

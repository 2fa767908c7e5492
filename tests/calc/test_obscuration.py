"""What solids hide: published factors, Tabarie's relation, and the refusal of a raw reading on a label."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import (
    abv_from_mass_fraction,
    density,
    density_from_abv,
    mass_fraction_from_density,
    proof_from_abv,
)
from batches.calc.errors import OutOfRange
from batches.calc.obscuration import (
    apparent_abv,
    dry_residue,
    for_label,
    from_residue_density,
    obscuration_proof,
    obscured,
    readings,
)


def test_the_regulations_own_example() -> None:
    """27 CFR 30.32(b): 0.5 g in 100 mL hides 2.0 proof."""
    assert obscuration_proof(solids_g_per_100ml=0.5, proof=90) == approx(2.0)


@pytest.mark.parametrize("proof", [80, 90, 100])
def test_sucrose_like_solids_agree_with_the_regulations_factor(proof: float) -> None:
    """27 CFR 30.32(b) against k 0.385: 5 g/L at 80 to 100 proof, within a fifth of the 2.0 proof."""
    found = obscured(apparent=apparent_abv(abv=proof / 2, residue_g_l=5), residue_g_l=5)
    hidden = proof_from_abv(found.abv) - proof_from_abv(found.apparent)
    assert hidden == approx(obscuration_proof(solids_g_per_100ml=0.5, proof=proof), rel=0.25)


def test_the_table_of_readings() -> None:
    """k 0.385 (OIV, extract as sucrose): a true 40 % vol by residue in g/L."""
    rows = readings(abvs=[40], residues_g_l=[1, 6, 10, 20, 30, 50])
    assert rows[0] == approx([39.8, 38.5, 37.5, 34.9, 32.1, 25.7], abs=0.06)
    sixty, thirty = readings(abvs=[60, 30], residues_g_l=[10, 20])
    assert sixty == approx([58.3, 56.5], abs=0.06) and thirty[1] == approx(23.4, abs=0.06)


def test_what_is_not_known_of_the_solids_is_about_one_percent() -> None:
    """k 0.30 to 0.45 at 20 g/L and 40 % vol: plus or minus 1 % vol."""
    found = obscured(apparent=apparent_abv(abv=40, residue_g_l=20), residue_g_l=20)
    assert found.abv == approx(40)
    assert found.low < found.abv < found.high
    assert (found.high - found.low) / 2 == approx(1, abs=0.25)


def test_benzoin_tincture_read_naively_is_far_too_low() -> None:
    """USP 35 Compound Benzoin Tincture: SG 0.870-0.885 (25/25 °C assumed), 74-80 % vol, 175-225 g/L of resin.

    Its density alone, at the middle, says 72.6, below the label's low end.
    """
    sg = 0.8775 * density(0.0, 25.0)
    naive = abv_from_mass_fraction(mass_fraction_from_density(sg, 25.0))
    assert naive == approx(72.6, abs=0.1) and naive < 74


def test_tabarie_gives_the_strength_back() -> None:
    """d(alcohol) = d(sample) - d(residue) + 1 (Tabarie 1830): 40 % vol, 20 g/L that weigh 7.7 kg/m3."""
    found = from_residue_density(sample=density_from_abv(40) + 7.7, residue=998.20123 + 7.7)
    assert found.abv == approx(40, abs=1e-6)


def test_a_dish_weighed_before_and_after() -> None:
    """1.05 g from 50 mL is 21 g/L."""
    assert dry_residue(sample_ml=50, dish_g=40, dried_g=41.05).residue_g_l == approx(21)


@pytest.mark.parametrize("residue", [0, 4, 6])
def test_a_light_residue_may_go_on_a_label(residue: float) -> None:
    found = for_label(apparent=38, residue_g_l=residue)
    assert found.hidden_abv == approx(found.abv - 38) and found.hidden_abv >= -1e-9


@given(st.floats(5, 95), st.floats(0, 30))
def test_solids_only_ever_hide(abv: float, residue: float) -> None:
    try:
        read = apparent_abv(abv=abv, residue_g_l=residue)
    except OutOfRange:  # heavier than water: no alcoholometer floats there
        assert density_from_abv(abv) + 0.385 * residue > 998.2
        return
    found = obscured(apparent=read, residue_g_l=residue)
    assert found.abv == approx(abv, abs=1e-6)
    assert found.low <= found.abv + 1e-9 and found.abv <= found.high + 1e-9


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: for_label(apparent=38, residue_g_l=6.1),
            "With 6.1 g/L of solids a raw reading cannot go on a label (0 to 6 g/L can; 27 CFR 30.31-32)",
        ),
        (lambda: for_label(apparent=38, residue_g_l=-1), "The dry residue must be 0 or more, not -1."),
        (lambda: obscured(apparent=38, residue_g_l=1, k=0.2), "k runs from 0.3 to 0.45 kg/m3"),
        (
            lambda: from_residue_density(sample=950, residue=990),
            "A residue made up with water weighs 998.2 to 1400",
        ),
        (lambda: dry_residue(sample_ml=0, dish_g=1, dried_g=2), "The sample must be more than 0"),
        (
            lambda: dry_residue(sample_ml=1, dish_g=3, dried_g=2),
            "The dish cannot weigh less dried (2 g) than empty (3 g).",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)

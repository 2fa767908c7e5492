"""A rinsed marc: ethanol and mass are kept, reckoned here in grams with OIML R 22 alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.alcohol import density_from_abv, mass_fraction_from_abv
from batches.calc.errors import OutOfRange
from batches.calc.rinse import rinse
from batches.calc.rinsed import Poured, rinsed


def grams(ml: float, abv: float) -> tuple[float, float]:
    g = ml * density_from_abv(abv) / 1000
    return g, g * mass_fraction_from_abv(abv)


volume = st.floats(1, 5000)


@given(
    pressed=volume, held=volume, abv=st.floats(1, 95),
    pours=st.lists(st.tuples(volume, st.floats(0.05, 0.9), st.booleans()), min_size=1, max_size=4),
)  # fmt: skip
def test_ethanol_and_mass_are_kept(
    pressed: float, held: float, abv: float, pours: list[tuple[float, float, bool]]
) -> None:
    done = [Poured(water, share * held, joins) for water, share, joins in pours]
    try:
        found = rinsed(pressed_ml=pressed, abv=abv, retained_ml=held, pours=done)
    except OutOfRange:
        return  # more than a weak marc had left
    into_g, into_e = grams(pressed + held, abv)
    water_g = sum(one.water_ml for one in done) * 0.9982012
    parts = [
        (found.tincture_ml, found.tincture_abv),
        (found.apart_ml, found.apart_abv),
        (found.retained_ml, found.abv),
    ]
    out = [grams(ml, strength) for ml, strength in parts]
    assert sum(g for g, _ in out) == approx(into_g + water_g, rel=1e-6)
    assert sum(e for _, e in out) == approx(into_e, rel=1e-6)
    assert found.water_ml == approx(sum(one.water_ml for one in done))
    assert pressed <= found.carried_ml <= pressed + held + 1e-9


def test_one_rinse_pressed_as_hard_is_what_the_adviser_says() -> None:
    said = rinse(tincture_ml=760, abv=78.69, herb_g=180, retained_ml=155, rinse_ml=155)
    found = rinsed(pressed_ml=760, abv=78.69, retained_ml=155, pours=[Poured(155, said.off_ml)])
    assert found.left_ml == approx(said.left_ml)
    assert (found.tincture_ml, found.tincture_abv) == (approx(said.final_ml), approx(said.final_abv))


def test_a_rinse_kept_apart_leaves_the_tincture_as_it_was() -> None:
    found = rinsed(pressed_ml=760, abv=78.69, retained_ml=155, pours=[Poured(155, 150, joins=False)])
    assert (found.tincture_ml, found.tincture_abv) == (approx(760), approx(78.69))
    assert found.carried_ml == 760 and found.apart_ml == approx(150)
    assert found.apart_g == approx(grams(150, found.apart_abv)[0])


def test_no_rinse_changes_nothing() -> None:
    found = rinsed(pressed_ml=760, abv=78.69, retained_ml=155, pours=[])
    assert (found.retained_ml, found.abv, found.water_ml, found.apart_g) == (155, 78.69, 0, 0)


@pytest.mark.parametrize("off", [-1.0, 311.0])
def test_more_than_there_was_cannot_come_off(off: float) -> None:
    with pytest.raises(OutOfRange, match="cannot come off a marc that held"):
        rinsed(pressed_ml=760, abv=78.69, retained_ml=155, pours=[Poured(155, off)])

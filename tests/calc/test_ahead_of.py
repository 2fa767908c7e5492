"""What is still to come of a column, a pot of its own, and a liquid that is adjusted.

Strengths: mass balance with the densities of OIML R 22 (1975), 20 °C, and the make-up table 27 CFR 30.66
Table 6. The other figures are arithmetic, worked out beside each check.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.calc.ahead_of import boils_down, brought_to, grown, made_up, still_drips
from batches.calc.errors import OutOfRange
from batches.calc.mixtures import Dilution, Fortified


def test_a_column_gives_what_its_drained_herb_does_not_keep() -> None:
    """700 mL and 300 mL over 180 g dry, 2 mL kept by each: 700 + 300 - 360 = 640 mL."""
    found = still_drips(liquid_ml=700.0, short_ml=300.0, held_ml_per_g=2.0, dry_g=180.0)
    assert found.to_come_ml == pytest.approx(640.0)
    assert found.figures()["to_come_ml"].value == found.to_come_ml
    dry = still_drips(liquid_ml=100.0, short_ml=0.0, held_ml_per_g=2.0, dry_g=180.0)
    assert dry.to_come_ml == 0.0 and dry.figures() == {}


def test_a_pot_boils_down_to_a_share_of_its_water() -> None:
    """Half of 2000 mL is 1000 mL; 1500 mL there, at 250 mL an hour: 500 mL in 2 h."""
    found = boils_down(now_ml=1500.0, poured_ml=2000.0, to_share=0.5, rate_ml_h=250.0)
    assert (found.left_ml, found.off_ml, found.hours) == (1000.0, 500.0, 2.0)
    past = boils_down(now_ml=900.0, poured_ml=2000.0, to_share=0.5, rate_ml_h=250.0)
    assert past.off_ml == 0.0 and set(past.figures()) == {"left_ml"}
    with pytest.raises(OutOfRange):
        boils_down(now_ml=900.0, poured_ml=2000.0, to_share=0.5, rate_ml_h=0.0)


def test_a_liquid_is_let_down_raised_or_left() -> None:
    """100 mL of 95 % vol become 70 with 39.1 mL of water (as printed in the older dilution tables); and 50
    from 40 with spirit of 96: by volumes alone 100 * 10 / 46 = 21.7 mL, the mass balance within a mL."""
    down = brought_to(ml=100.0, abv=95.0, target=70.0, spirit_abv=96.0)
    assert isinstance(down, Dilution) and down.water_ml == pytest.approx(39.1, abs=0.2)
    up = brought_to(ml=100.0, abv=40.0, target=50.0, spirit_abv=96.0)
    assert isinstance(up, Fortified) and up.spirit_ml == pytest.approx(21.7, abs=1.0)
    assert brought_to(ml=100.0, abv=40.0, target=40.02, spirit_abv=96.0) is None
    assert brought_to(ml=100.0, abv=40.0, target=50.0, spirit_abv=50.0) is None


def test_a_fluid_extract_is_a_millilitre_to_a_gram() -> None:
    """USP <1151>: 1 mL to a gram. 850 mL of 1000 g lack 150 mL; 1100 mL are 100 mL too much."""
    assert made_up(herb_g=1000.0, have_ml=850.0).more_ml == pytest.approx(150.0)
    over = made_up(herb_g=1000.0, have_ml=1100.0)
    assert over.more_ml == pytest.approx(-100.0) and over.final_ml == 1000.0


@given(ml=some.floats(0, 1e5), factor=some.floats(0.01, 10))
def test_what_is_added_is_in_proportion(ml: float, factor: float) -> None:
    assert grown(ml=ml, factor=factor).final_ml == pytest.approx(ml * factor)

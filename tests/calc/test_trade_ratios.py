"""Worked values of the trade, T01 to T09: ratios, percolation, retention.

Each is worked out in the test itself, by OIML R 22 typed apart (plain_r22.py) where spirit has a weight.
"""

from __future__ import annotations

import pytest
from pytest import approx

from batches.calc.drip import wanted_drip
from batches.calc.extraction import pressed
from batches.calc.ratios import RatioBasis, ounces, ratio
from batches.calc.yields import native_yield
from tests.calc.plain_r22 import weight


def test_t01_one_to_five_by_volume() -> None:
    """Common practice: 100 g at 1:5 w/v take 500 mL and stand at 1000 / 5 = 200 mg/mL."""
    found = ratio(herb_g=100, ratio=5, abv=60)
    assert (found.menstruum_ml, found.mg_per_ml) == (approx(500), approx(200))


@pytest.mark.parametrize(("parts", "mg"), [(2, 500), (3, 1000 / 3), (5, 200), (10, 100)])
def test_t01_nominal_herb_per_ml(parts: float, mg: float) -> None:
    """Common practice: 1:2 500, 1:3 333.3, 1:5 200, 1:10 100 mg/mL."""
    assert ratio(herb_g=50, ratio=parts, abv=40).mg_per_ml == approx(mg)


def test_t02_one_to_five_by_mass() -> None:
    """Parts by mass (Ph. Eur., from memory): 500 g of 60 % (0.90911 g/mL, R 22) are 550.0 mL, 1:5.50 w/v."""
    found = ratio(herb_g=100, ratio=5, basis=RatioBasis.MASS, abv=60)
    assert found.density == approx(0.90911, abs=5e-6)
    assert found.density == approx(weight(1, 60), abs=5e-6)
    assert found.menstruum_g == approx(500)
    assert found.menstruum_ml == approx(550.0, abs=0.05)
    assert found.by_volume == approx(5.50, abs=0.005)


def test_t03_one_to_five_by_volume_of_95_percent_by_mass() -> None:
    """R 22: 500 mL of 95 % weigh 405.7 g, 1:4.06 by mass."""
    found = ratio(herb_g=100, ratio=5, abv=95)
    assert found.menstruum_g == approx(405.7, abs=0.05)
    assert found.menstruum_g == approx(weight(500, 95), abs=0.05)
    assert found.by_mass == approx(4.06, abs=0.005)


def test_t04_the_yield_is_no_solvent_ratio() -> None:
    """Kooperation Phytopharmaka, "Tincture": a 1:5 tincture yields a DER of about 1:4 to 1:4.5."""
    found = native_yield(herb_g=100, put_in_ml=500, recovered_ml=420)
    assert found.solvent_ratio == approx(5)
    assert found.der == approx(4.2) and 4 <= found.der <= 4.5
    assert (found.retained_ml, found.retained_per_g) == (approx(80), approx(0.8))


def test_t05_ounces_by_weight_to_us_fluid_ounces() -> None:
    """NIST Handbook 44, appendix C: 4 oz are 113.4 g, 20 US fl oz 591.5 mL: 1:5.216."""
    found = ounces(herb_oz=4, ratio=5)
    assert found.fl_oz == approx(20)
    assert found.herb_g == approx(113.4, abs=0.05)
    assert found.herb_g == approx(4 * 453.59237 / 16, abs=0.05)
    assert found.menstruum_ml == approx(591.5, abs=0.05)
    assert found.menstruum_ml == approx(20 * 231 * 2.54**3 / 128, abs=0.05)
    assert found.by_volume == approx(5.216, abs=0.0005)


@pytest.mark.parametrize(("herb", "millilitres"), [(200, 1000), (1000, 5000)], ids=["t06", "t07"])
def test_t06_t07_the_drip_of_a_percolator(herb: float, millilitres: float) -> None:
    """USP <565> and its Licorice Fluidextract: 1 to 3 mL/min for 1000 g; 5 mL a gram take 83.3 to 27.8 h."""
    found = wanted_drip(herb_g=herb, volume_ml=millilitres, drops_per_ml=45)
    assert (found.low_ml_min, found.high_ml_min) == approx((herb / 1000, 3 * herb / 1000))
    assert found.slow_hours == approx(83.3, abs=0.05)
    assert found.fast_hours == approx(27.8, abs=0.05)


def test_t06_the_drip_counted() -> None:
    """The same at 45 drops a mL: 0.2 to 0.6 mL/min are 9 to 27 drops a minute."""
    found = wanted_drip(herb_g=200, volume_ml=1000, drops_per_ml=45)
    assert (found.low_drops_min, found.high_drops_min) == approx((9, 27))


def test_t08_retention_by_hand() -> None:
    """Common practice, the herb's own water left out: 400 of 500 mL off 100 g are 80 %, 1.0 mL/g held."""
    found = pressed(jar_ml=500, jar_abv=60, herb_g=100, moisture=0, pressed_ml=400)
    assert (found.retention, found.recovery_percent) == (approx(1.0), approx(80))


@pytest.mark.parametrize(("out", "retention"), [(700, 3.0), (900, 1.0)])
def test_t09_retention_of_a_one_to_ten(out: float, retention: float) -> None:
    """Kooperation Phytopharmaka, "Tincture": a 1:10 yields about 1:7 to 1:9, so 1 to 3 mL stay in a gram."""
    found = pressed(jar_ml=1000, jar_abv=60, herb_g=100, moisture=0, pressed_ml=out)
    assert found.retention == approx(retention)
    assert native_yield(herb_g=100, put_in_ml=1000, recovered_ml=out).der == approx(out / 100)

"""Results on keeping whose figures test_figures opens, each branch of their workings once."""

from __future__ import annotations

from batches.calc.keeping import (
    acid_keeping,
    free_water,
    glycerol_keeping,
    honey_keeping,
    oil_keeping,
    spirit_keeping,
    syrup_keeping,
    water_keeping,
)
from batches.calc.result import Result


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        spirit_keeping(ml=500, abv=28),
        spirit_keeping(ml=500, abv=14, spirit_abv=96),
        free_water(ml=1000, sugar_g=500),
        free_water(ml=1000, sugar_g=500, abv=8),
        free_water(ml=1000, sugar_g=900),
        syrup_keeping(sugar_g=850, water_g=463),
        syrup_keeping(sugar_g=500, water_g=500),
        honey_keeping(honey_g=500),
        honey_keeping(honey_g=500, water_g=500),
        glycerol_keeping(glycerol_ml=375, water_g=135),
        glycerol_keeping(glycerol_ml=100, water_g=200),
        acid_keeping(vinegar_ml=300, acidity=5, other_ml=10, ph=3.1),
        acid_keeping(vinegar_ml=300, acidity=5, other_ml=85),
        oil_keeping(herb_g=100, moisture=0.08),
        oil_keeping(herb_g=100, moisture=0.8),
        water_keeping(hours=5),
    ]

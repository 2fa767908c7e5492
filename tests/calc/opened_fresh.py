"""Results on fresh herb and drying whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.drying import drying, moisture
from batches.calc.fresh import fresh_jar, fresh_per_ml
from batches.calc.fresh_spirit import needed_spirit
from batches.calc.result import Result


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        fresh_jar(herb_g=100, moisture=0.8, menstruum_ml=200, menstruum_abv=95),
        fresh_jar(herb_g=100, moisture=0.9, menstruum_ml=100, menstruum_abv=5, dried_moisture=0.08),
        fresh_per_ml(herb_g=100, moisture=0.8, menstruum_ml=200, jar_ml=273.2),
        needed_spirit(herb_g=100, moisture=0.8, menstruum_ml=200, target=60),
        needed_spirit(herb_g=100, moisture=0.8, menstruum_ml=500, target=3),
        drying(fresh_g=1000, moisture=0.8),
        drying(fresh_g=500, moisture=0.7, final_moisture=0.5),
        moisture(wet_g=124, dry_g=54),
        moisture(wet_g=124, dry_g=54, left=0.1),
    ]

"""Results on a percolation planned and followed whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.drip_time import DripReading, drip_time
from batches.calc.fluid_extract import fluid_extract
from batches.calc.percolation import column_plan
from batches.calc.result import Result

DRIPS = [DripReading(0, 0.6), DripReading(1, 0.5), DripReading(2.5, 0.4), DripReading(4, 0.35)]


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        column_plan(herb_g=200, moisture=0.08, menstruum_ml=1000, menstruum_abv=60),
        column_plan(
            herb_g=200, moisture=0.08, menstruum_ml=400, menstruum_abv=60, retention=1, moisten_per_g=0.6
        ),
        fluid_extract(herb_g=500, weak_ml=900),
        drip_time(readings=DRIPS, volume_ml=500),
        drip_time(readings=DRIPS[:1], volume_ml=500),
    ]

"""Results on a percolator's drip whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.drip import read_drip, wanted_drip
from batches.calc.result import Result


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        wanted_drip(herb_g=200, volume_ml=1000, drops_per_ml=45),
        read_drip(minutes=1, drops=18, drops_per_ml=45, volume_ml=652),
        read_drip(minutes=10, ml=4, drops=120, drops_per_ml=30, volume_ml=652),
    ]

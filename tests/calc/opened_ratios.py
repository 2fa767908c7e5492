"""Results on ratios and yields whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.ratios import RatioBasis, folk, ounces, ratio
from batches.calc.result import Result
from batches.calc.yields import native_yield


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    by_eye = folk(herb_g=120, menstruum_g=560, abv=40)
    assert by_eye is not None
    return [
        ratio(herb_g=100, ratio=5, abv=60),
        ratio(herb_g=100, ratio=5, basis=RatioBasis.MASS, abv=60),
        ratio(herb_g=250, ratio=3, basis=RatioBasis.MASS, density=0.913),
        by_eye,
        ounces(herb_oz=4, ratio=5),
        native_yield(herb_g=100, put_in_ml=500, recovered_ml=420),
    ]

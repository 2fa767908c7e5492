"""Results of the Reckoner's own whose figures test_figures opens, each branch of their workings once."""

from __future__ import annotations

from batches.calc.reading import corrected, from_proof, to_proof
from batches.calc.result import Result
from batches.calc.unknowns import Found, missing_strength, missing_volume


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    thinned = missing_volume(parts=[(760, 78.69)], at=2, abv=0, target=28)
    return [
        thinned,
        missing_volume(parts=[(500, 20), (100, 0)], at=1, abv=96, target=30),
        missing_strength(parts=[(500, 20), (50, 0)], at=2, ml=500, target=40),
        Found(thinned.parts, 2, 28, thinned.whole),
        corrected(35, 27),
        to_proof(40),
        from_proof(80),
    ]

"""Results of the batch solved again whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.outlook import Rest, from_jar, from_tincture
from batches.calc.result import Result

REST = Rest(target_abv=28.0, retention=0.946, fill_ml=50.0, settle_loss=0.02, filter_loss=0.01)


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    jar = from_jar(jar_ml=915.0, abv=78.73, dry_g=163.8, rest=REST)
    assert jar.in_jar is not None
    short = from_tincture(tincture_ml=760.0, abv=78.73, rest=REST, extract_ml=1000.0)
    return [jar, jar.in_jar, short]

"""Results of the batch solved again whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.ahead_of import boils_down, grown, made_up, still_drips
from batches.calc.outlook import Rest, from_jar, from_tincture
from batches.calc.result import Result

REST = Rest(target_abv=28.0, retention=0.946, fill_ml=50.0, settle_loss=0.02, filter_loss=0.01)


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    jar = from_jar(jar_ml=915.0, abv=78.73, dry_g=163.8, rest=REST)
    assert jar.in_jar is not None
    short = from_tincture(tincture_ml=760.0, abv=78.73, rest=REST, extract_ml=1000.0)
    return [
        jar,
        jar.in_jar,
        short,
        still_drips(liquid_ml=700.0, short_ml=300.0, held_ml_per_g=2.0, dry_g=180.0),
        boils_down(now_ml=1500.0, poured_ml=2000.0, to_share=0.5, rate_ml_h=250.0),
        made_up(herb_g=1000.0, have_ml=850.0),
        grown(ml=800.0, factor=1.8),
    ]

"""Plans of each way to pour, whose figures test_figures opens."""

from __future__ import annotations

from dataclasses import replace

from batches.calc.plan import plan_forward
from batches.calc.plan_simple import Pour, Retention, SimpleTerms, Sweet, plan_simple
from batches.calc.plan_terms import Terms
from batches.calc.result import Result

WATER = Pour("water", "Water", 20.0, 0.9982)
TEA = SimpleTerms((WATER,), 0.1, Retention(1.0, 0.8, 1.5), 100.0, settle_loss=0.02, bottling_loss=0.01)
GLYCERITE = (Pour("glycerol", "Glycerol", 3.75, 1.261), Pour("water", "Water", 1.25, 0.9982))
FLUID = Terms(
    ratio=4.0,
    menstruum_abv=60.0,
    stock_abv=96.0,
    moisture=0.1,
    retention=Retention(2.0, 1.5, 3.0),
    target_abv=None,
    pot=None,
    fill_ml=50.0,
    made_up_to=1.0,
)


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    syrup = replace(TEA, boil_to=0.5, rate_ml_h=250.0, sweet=Sweet("Sugar", 19.0, 0.6306))
    oil = replace(TEA, pours=(Pour("menstruum", "Oil", 5.0, 0.92),), water_joins=False)
    kept = replace(TEA, keep_abv=25.0)
    glycerite = plan_simple(herb_g=100, terms=replace(TEA, pours=GLYCERITE))
    return [
        *(plan_simple(herb_g=100, terms=terms) for terms in (TEA, syrup, oil, kept)),
        glycerite,
        *glycerite.poured,
        plan_forward(herb_g=200, terms=FLUID),
    ]

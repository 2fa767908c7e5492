"""The first results of the double extraction whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.combine import landing
from batches.calc.decoction import (
    Reading,
    TopUp,
    ethanol_left,
    evaporation_rate,
    start_water,
    time_to_target,
)
from batches.calc.dose import calibrate_drops, dose
from batches.calc.extraction import Basis, herb_per_ml, pressed
from batches.calc.fill import fill_plan
from batches.calc.mixing import blend, dilute, fortify, make_up, to_target, with_plant_water
from batches.calc.plan import Pot, Retention, Terms, plan_forward
from batches.calc.result import Result
from batches.calc.vapour import vapour
from batches.calc.ways_out import fortify_all, reduce_further, use_part

TERMS = Terms(
    ratio=5.0,
    menstruum_abv=80.0,
    stock_abv=96.0,
    moisture=0.09,
    retention=Retention(0.95, 0.8, 1.5),
    target_abv=28.0,
    pot=Pot(hours=4.0, rate_ml_h=250.0, spent_retention=1.0),
    fill_ml=50.0,
    overfill_ml=0.5,
    settle_loss=0.02,
    filter_loss=0.01,
    bottling_loss=0.01,
)


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    return [
        dilute(400, 92, 35),
        to_target(760, 78.69, 28, 0.4),
        blend([(300, 60), (420, 0), (10, 96)]),
        make_up(900, 80, 96),
        with_plant_water(250, 95, 125, 0.75),
        fortify(2000, 24.6, 28, 96),
        pressed(jar_ml=915, jar_abv=78.69, herb_g=180, moisture=0.09, pressed_ml=760),
        herb_per_ml(herb_g=180, jar_ml=915, pressed_ml=700, final_ml=2136),
        vapour(122),
        evaporation_rate(
            [Reading(0, 5000), Reading(1, 4300), TopUp(1, 500), Reading(1.1, 4700), Reading(2, 4100)]
        ),
        time_to_target(now_ml=4252, target_ml=2000, rate_ml_h=778),
        start_water(target_ml=1407, dry_g=164, spent_retention=1, rate_ml_h=250, hours=4, marc_ml=155),
        ethanol_left(ethanol_ml=120, start_ml=3200, evaporated_ml=1200, hours=2, topped_up=True),
        ethanol_left(ethanol_ml=120, start_ml=3200, evaporated_ml=1200, hours=1.2, topped_up=False),
        landing(tincture_ml=760, abv=78.69, extract_ml=1407, marc_ethanol_ml=122),
        use_part(tincture_ml=760, abv=78.69, extract_ml=1200, target=28),
        use_part(tincture_ml=760, abv=78.69, extract_ml=1700, target=28, extract_abv=0.3),
        reduce_further(tincture_ml=760, abv=78.69, extract_ml=1700, target=28),
        fortify_all(tincture_ml=760, abv=78.69, extract_ml=1700, target=28, spirit_abv=96),
        fill_plan(volume_ml=2100, abv=28, fill_ml=50, overfill_ml=0.5, loss=0.01, tare_g=48),
        fill_plan(volume_ml=1000, abv=0, fill_ml=100, density=1313.0),
        dose(dose_ml=2, herb_mg_per_ml=84.3, basis=Basis.ALL_HERB, abv=29.4, fill_ml=50, per_day=3),
        calibrate_drops(count=50, mass_g=1.085, density_g_ml=0.94805),
        plan_forward(herb_g=180, terms=TERMS),
        plan_forward(
            herb_g=100,
            terms=Terms(
                ratio=5,
                menstruum_abv=60,
                stock_abv=96,
                moisture=0.1,
                retention=Retention(1, 1, 1),
                target_abv=None,
                pot=None,
                fill_ml=50,
            ),
        ),
    ]

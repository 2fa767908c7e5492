"""Results on the pot beyond its first rate whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.decoction import (
    Reading,
    blended_rate,
    boil_water,
    boiling_prior,
    ethanol_left,
    evaporation_rate,
    lasting,
    simmering_prior,
    stated_prior,
    time_to_target,
    water_by_herb,
)
from batches.calc.result import Result


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    gas = boiling_prior(kilowatts=1.5)
    read = evaporation_rate([Reading(0, 5429), Reading(0.5, 5021), Reading(1, 4660)])
    return [
        gas,
        boiling_prior(kilowatts=1.5, heat="induction", efficiency=0.82),
        simmering_prior(celsius=77, diameter_cm=24),
        stated_prior(ml_per_h=250),
        lasting(start_ml=276, rate_ml_h=277, hours=4, room_ml=9000),
        blended_rate(prior=gas, rate=None, reading_u_ml=45),
        blended_rate(prior=gas, rate=read, reading_u_ml=45),
        time_to_target(now_ml=4252, target_ml=2000, rate_ml_h=778, low_ml=2500),
        time_to_target(now_ml=2100, target_ml=2000, rate_ml_h=778, low_ml=2500),
        time_to_target(now_ml=1900, target_ml=2000, rate_ml_h=778),
        time_to_target(now_ml=276, target_ml=0, rate_ml_h=277, dry_ml=27.6),
        time_to_target(now_ml=20, target_ml=0, rate_ml_h=277, dry_ml=27.6),
        boil_water(herb_g=200, wanted_ml=600, wanted_again_ml=600),
        boil_water(herb_g=200, wanted_ml=600),
        water_by_herb(herb_g=200),
        ethanol_left(
            ethanol_ml=120, start_ml=3200, evaporated_ml=1200, hours=2, topped_up=True, volatility=8
        ),
    ]

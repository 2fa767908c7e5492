"""The pot: how fast it loses water, when it reaches its target, how much to start with, what ethanol stays.

Volumes in mL, times in hours, rates in mL per hour. Volumes are taken as they stand in the pot.
"""

from batches.calc.decoction.ethanol import USDA_RETENTION, VOLATILITY, EthanolLeft, ethanol_left
from batches.calc.decoction.forecast import (
    LONGEST_PAUSE_MIN,
    SHORTEST_PAUSE_MIN,
    PotForecast,
    look_again_in,
    time_to_target,
)
from batches.calc.decoction.lasting import Lasting, lasting
from batches.calc.decoction.priors import (
    HEAT_SOURCES,
    BlendedRate,
    HeatSource,
    Prior,
    blended_rate,
    boiling_prior,
    simmering_prior,
    stated_prior,
)
from batches.calc.decoction.readings import Rate, Reading, TopUp, evaporation_rate, water_lost_ml
from batches.calc.decoction.start import (
    BoilWater,
    ByHerb,
    StartWater,
    boil_water,
    start_water,
    water_by_herb,
)
from batches.calc.potsize import pot_area_cm2, pot_ml

__all__ = [
    "HEAT_SOURCES",
    "LONGEST_PAUSE_MIN",
    "USDA_RETENTION",
    "VOLATILITY",
    "BlendedRate",
    "BoilWater",
    "ByHerb",
    "EthanolLeft",
    "HeatSource",
    "Lasting",
    "PotForecast",
    "Prior",
    "Rate",
    "Reading",
    "SHORTEST_PAUSE_MIN",
    "StartWater",
    "TopUp",
    "blended_rate",
    "boil_water",
    "boiling_prior",
    "ethanol_left",
    "evaporation_rate",
    "lasting",
    "look_again_in",
    "pot_area_cm2",
    "pot_ml",
    "simmering_prior",
    "start_water",
    "stated_prior",
    "time_to_target",
    "water_by_herb",
    "water_lost_ml",
]

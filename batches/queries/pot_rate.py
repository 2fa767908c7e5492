"""How fast a pot loses water: the first guess, and the guess and the readings in one.

The guess comes from the pan and its heat where its diameter is known, else from the formula's figure.
"""

from __future__ import annotations

from collections.abc import Sequence

from batches.calc.decoction import (
    BlendedRate,
    Prior,
    Rate,
    TopUp,
    blended_rate,
    evaporation_rate,
    pot_area_cm2,
    simmering_prior,
    stated_prior,
)
from batches.calc.decoction import Reading as PotReading
from batches.calc.errors import OutOfRange
from batches.calc.instruments import Instruments
from batches.models import Vessel
from batches.stages.decoct import Decoct

GUESS_C = 77.0  # the middle of the usual band: a pot that was read cooler may be back at it any time
BOILS_C = 100.0
LEAST_U_ML = 1.0  # nobody reads a pot finer


def first_guess(vessel: Vessel | None, settings: Decoct, celsius: float | None = None) -> Prior:
    """Water lost an hour, mL, of `vessel` at `celsius` as last read, before its own readings tell."""
    if vessel is None or not vessel.diameter_cm:
        return stated_prior(ml_per_h=settings.loss_ml_per_h)
    hot = min(max(GUESS_C, celsius or 0.0), BOILS_C)
    return simmering_prior(celsius=hot, diameter_cm=vessel.diameter_cm)


def rate_of(events: Sequence[PotReading | TopUp]) -> Rate | None:
    """The slope through the readings; None while they are too few."""
    try:
        return evaporation_rate(events)
    except OutOfRange:
        return None


def reading_u(vessel: Vessel | None, last_ml: float, tools: Instruments) -> float:
    """Standard uncertainty in mL of one reading of a pot of about `last_ml`."""
    area = pot_area_cm2(vessel.diameter_cm) if vessel and vessel.diameter_cm else None
    return max(LEAST_U_ML, tools.level_u(area) if area else tools.volume_u(last_ml))


def blended(prior: Prior, rate: Rate | None, reading_u_ml: float) -> BlendedRate:
    """Guess and readings by how sure each is. Readings by which nothing is lost leave the guess alone."""
    try:
        return blended_rate(prior=prior, rate=rate, reading_u_ml=reading_u_ml)
    except OutOfRange:
        return blended_rate(prior=prior, rate=None, reading_u_ml=reading_u_ml)

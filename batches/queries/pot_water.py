"""The water that a pot starts with: as planned, and solved again from what the pressing gave.

Both go by the plan's own terms, so that sheet and stove differ by what was pressed and weighed alone.
"""

from __future__ import annotations

from batches.calc.decoction import StartWater, start_water
from batches.calc.errors import OutOfRange
from batches.models import Stage, Vessel
from batches.queries.batch import last_act
from batches.queries.learned import EVAPORATION, own_value
from batches.queries.pot import settings_of
from batches.queries.pot_start import planned_pot, start_water_needs, target_of
from batches.stages.decoct import Decoct


def start_for(
    target_ml: float, dry_g: float, marc_ml: float, settings: Decoct, vessel: Vessel | None = None
) -> StartWater:
    """Start water in mL for `dry_g` g in `vessel`, simmered as `settings` say. Raises `OutOfRange`."""
    return start_water(
        target_ml=target_ml,
        dry_g=dry_g,
        spent_retention=settings.spent_ml_per_g,
        rate_ml_h=_loss_ml_h(settings, vessel),
        hours=settings.hours,
        marc_ml=marc_ml,
    )


def _loss_ml_h(settings: Decoct, vessel: Vessel | None) -> float:
    """As a plan takes it: the workshop's own of this pot, else the formula's, which always says one."""
    own = own_value(EVAPORATION, vessel.pk) if vessel else None
    return own.estimate if own else settings.loss_ml_per_h


def planned_water_ml(stage: Stage) -> float | None:
    """mL of water that the approved plan starts the pot with; without a figure of it, by the formula's ratio
    on the herb weighed in. None where neither is known."""
    batch = stage.batch
    kept = batch.plan.get("results", {}).get("start_water_ml", {}).get("value")
    if kept:
        return float(kept)
    if last_act(batch, "pressed") is not None:  # the ratio is that of the jar then
        return None
    weighed, ratio = last_act(batch, "weigh_in"), batch.version.menstruum_ml_per_g if batch.version else None
    return float(weighed.data["herb_g"]) * ratio if weighed is not None and ratio else None


def start_water_for(stage: Stage) -> StartWater | None:
    """Start water, solved from the target that the pressing set; None without one, or with no need of it."""
    target = target_of(stage.batch)
    if target is None:
        return None
    dry_g, marc_ml = start_water_needs(stage.batch)
    try:
        return start_for(target.water_ml, dry_g, marc_ml, settings_of(stage), planned_pot(stage.batch))
    except OutOfRange:
        return None


def water_ml_for(stage: Stage) -> float | None:
    """mL that the pot is to start with: by the pressing where it is known, else as planned."""
    found = start_water_for(stage)
    return found.start_ml if found else planned_water_ml(stage)

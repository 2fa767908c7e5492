"""The pot on the heat: set, stirred, taken off and put back."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.calc.decoction import pot_ml
from batches.models import Stage, StageAct, Vessel
from batches.queries.batch import standing_acts
from batches.queries.pot_held import need_pot, simmering_lot, what_simmers
from workshop.calc.rounding import show
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def set_pot(
    *,
    stage: Stage,
    vessel: Vessel,
    water: Quantity,
    by: Person,
    at: datetime,
    level: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The wet marc and the start water (g or mL) go on the heat in `vessel`; `level` in cm if read."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    marc = simmering_lot(stage)
    if standing_acts(stage, "set_pot"):
        raise Refused("The pot is on already. Top it up, or undo the setting first.")
    poured = measured(water, 0.0)
    if poured.ml <= 0:
        raise Refused("Water: more than 0.", field="water")
    if poured.ml + float(marc.on_hand) > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; water and marc want about "
            f"{show(poured.ml + float(marc.on_hand), 'mL', 0)}. Take a larger pot or less water.",
            field="vessel",
        )
    by_level = pot_ml(vessel.diameter_cm, float(level.base)) if level and vessel.diameter_cm else None
    moves = logbook.Moves()
    logbook.take_vessel(vessel, stage, lot=marc.lot, at=when, moves=moves)
    caption = (
        f"Set {vessel.tag} on the heat with {show(poured.ml, 'mL', 0)} of water on {what_simmers(stage)}"
    )
    data = {
        "vessel": vessel.pk,
        "water_ml": poured.ml,
        "water_g": poured.g,
        "pot_ml": by_level or poured.ml,
        "level_cm": float(level.base) if level else None,
    }
    return logbook.log(
        stage=stage,
        act="set_pot",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def stirred(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """The pot was stirred. No reading: the next look stays due."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    need_pot(stage, when)
    return logbook.log(stage=stage, act="stirred", caption="Stirred", by=by, at=when, recorded_at=at)


@transaction.atomic
def pause(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """Off the heat, as for the night: to be cooled at once."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if need_pot(stage, when).paused_at is not None:
        raise Refused("The pot is off the heat already.")
    caption = "Off the heat"
    return logbook.log(stage=stage, act="pause", caption=caption, by=by, at=when, recorded_at=at)


@transaction.atomic
def resume(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """Back on the heat."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if need_pot(stage, when).paused_at is None:
        raise Refused("The pot is on the heat.")
    caption = "Back on the heat"
    return logbook.log(stage=stage, act="resume", caption=caption, by=by, at=when, recorded_at=at)

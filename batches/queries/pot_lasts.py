"""Whether the water of a pot lasts as long as it is to simmer, before it is on the heat; and what to say.

By the workshop's own loss of this pot where it has learned it, else by the first guess of `pot_rate`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from batches.calc.amounts import measured
from batches.calc.decoction import Lasting, lasting, pot_ml
from batches.calc.pairs import Warned
from batches.models import Stage, Vessel
from batches.queries.learned import EVAPORATION, own_value
from batches.queries.pot import settings_of
from batches.queries.pot_dry import span
from batches.queries.pot_rate import first_guess
from batches.queries.pot_start import planned_pot, target_of
from batches.queries.pot_water import water_ml_for
from batches.stages.decoct import Decoct
from workshop.calc.working import Figure
from workshop.measures import measures

SCORCHES = "common practice, no source"
DRIES = "the water lost is a first guess, half to one and a half times as much is possible; a tenth is dry"
OWN_DRIES = "the water lost is what this pot lost in runs of our own; a tenth is dry"


def lasts(water_ml: float, settings: Decoct, vessel: Vessel | None) -> Lasting:
    """How long `water_ml` mL last in `vessel`."""
    return _lasting(water_ml, settings, vessel, _own_ml_h(vessel))


def cautions_of(
    water_ml: float, settings: Decoct, vessel: Vessel | None, *, to_target: bool = False
) -> list[Warned]:
    """What has to be seen before `water_ml` mL go on in `vessel`. A pot that is taken off at a target
    (`to_target`) need not last its hours."""
    own = _own_ml_h(vessel)
    found = _lasting(water_ml, settings, vessel, own)
    return _said_of(found, vessel, OWN_DRIES if own else DRIES, to_target)


def _own_ml_h(vessel: Vessel | None) -> float | None:
    """mL that this pot loses in an hour, as the workshop learned it; None before."""
    own = own_value(EVAPORATION, vessel.pk) if vessel else None
    return own.estimate if own else None


def _lasting(water_ml: float, settings: Decoct, vessel: Vessel | None, own: float | None) -> Lasting:
    return lasting(
        start_ml=water_ml,
        rate_ml_h=own or first_guess(vessel, settings).ml_per_h,
        hours=settings.hours,
        room_ml=vessel.capacity_ml if vessel else None,
    )


def _said_of(found: Lasting, vessel: Vessel | None, source: str, to_target: bool) -> list[Warned]:
    own, words = measures(), []
    water, into = own.shown(found.start_ml, "mL", 0), f" in {vessel.tag}" if vessel else ""
    if found.short and not to_target:
        lost, needed = own.shown(found.rate_ml_h, "mL/h", 0), own.shown(found.needed_ml, "mL", 0)
        dry = (
            f"{water} of water{into} lasts about {span(found.lasts_h)}, at about {lost} lost, and is to "
            f"simmer {span(found.hours)}: the pot runs dry before. About {needed} would last. Make more, "
            "simmer less, or stay with it and top it up."
        )
        words.append(Warned(dry, source))
    if found.thin and vessel is not None:
        room = own.shown(vessel.capacity_ml, "mL", 0)
        thin = (
            f"{water} barely covers the bottom of {vessel.tag}, which holds {room}: the level cannot be "
            "read, and it scorches. Take a smaller pot, or make more."
        )
        words.append(Warned(thin, SCORCHES))
    return words


def planned_cautions(stage: Stage) -> list[Warned]:
    """Of the water and the pot that were planned, before the pot is set."""
    water_ml, vessel = water_ml_for(stage), planned_pot(stage.batch)
    return _of(stage, water_ml, vessel) if water_ml else []


def typed_cautions(stage: Stage, typed: Mapping[str, Any]) -> list[Warned]:
    """Of what is typed so far into the setting of the pot; of the plan while nothing is."""
    water_ml = _water(typed)
    return _of(stage, water_ml, typed.get("vessel")) if water_ml else planned_cautions(stage)


def look_set_pot(stage: Stage, typed: Mapping[str, Any]) -> list[Figure]:
    """How long the water poured lasts, and how much lasts as long as it is to simmer."""
    water_ml = _water(typed)
    if not water_ml:
        return []
    return list(lasts(water_ml, settings_of(stage), typed.get("vessel")).figures().values())


def _of(stage: Stage, water_ml: float, vessel: Vessel | None) -> list[Warned]:
    to_target = target_of(stage.batch) is not None
    return cautions_of(water_ml, settings_of(stage), vessel, to_target=to_target)


def _water(typed: Mapping[str, Any]) -> float | None:
    """mL on the heat: by the level where one was read, else as poured."""
    vessel, level, water = typed.get("vessel"), typed.get("level"), typed.get("water")
    if level is not None and vessel is not None and vessel.diameter_cm:
        return pot_ml(vessel.diameter_cm, float(level.base))
    return measured(water, 0.0).ml if water is not None else None

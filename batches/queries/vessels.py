"""Vessels: which stand where, which are free, which is big enough."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from batches.models import Occupancy, Vessel

HEADSPACE = 0.10
HERB_ML_PER_G = 0.7  # room that a gram of dry herb takes once wetted: common practice, no source


@dataclass(frozen=True, slots=True)
class Standing:
    """A vessel and the batch in it now, if any."""

    vessel: Vessel
    occupancy: Occupancy | None

    @property
    def free(self) -> bool:
        return self.occupancy is None


def standing_vessels(*, archived: bool = False) -> list[Standing]:
    """All vessels in walking order of their places, with who sits in them now."""
    rows = Occupancy.objects.filter(during__endswith__isnull=True).select_related("stage__batch")
    sitting = {row.vessel_id: row for row in rows}
    vessels = Vessel.objects.filter(archived=archived).select_related("place")
    found = [Standing(vessel, sitting.get(vessel.pk)) for vessel in vessels]
    return sorted(found, key=_stands)


def _stands(one: Standing) -> tuple[Any, ...]:
    return in_walk(one.vessel)


def in_walk(vessel: Vessel) -> tuple[Any, ...]:
    """The order of the walk: the place's turn, then the vessel's turn in it, then A2 before A10."""
    place = vessel.place
    return place.walk, place.name, vessel.position, tag_order(vessel.tag)


def tag_order(tag: str) -> tuple[tuple[int, int, str], ...]:
    """Tags in the order in which people count them: A2 before A10."""
    parts = re.findall(r"\d+|\D+", tag)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)


def sitting_in(vessel: Vessel) -> Occupancy | None:
    """Who sits in `vessel` now."""
    rows = Occupancy.objects.filter(vessel=vessel, during__endswith__isnull=True)
    return rows.select_related("stage__batch").first()


def free_vessels(*, pots: bool = False) -> list[Vessel]:
    """Empty vessels, smallest first: pots, or everything else."""
    free = [one.vessel for one in standing_vessels() if one.free]
    wanted = [vessel for vessel in free if (vessel.form == Vessel.Form.POT) == pots]
    return sorted(wanted, key=lambda vessel: (vessel.capacity_ml, vessel.tag))


def contents_ml(liquid_ml: float, herb_g: float) -> float:
    """Room in mL that herb and liquid take together."""
    return liquid_ml + herb_g * HERB_ML_PER_G


def capacity_for(content_ml: float) -> float:
    """mL a vessel must hold for `content_ml`, a tenth left empty (common practice, no source)."""
    return content_ml / (1.0 - HEADSPACE)


def smallest_for(vessels: list[Vessel], content_ml: float) -> Vessel | None:
    """The smallest of `vessels` (sorted by capacity) that takes `content_ml` with headspace."""
    needed = capacity_for(content_ml)
    return next((vessel for vessel in vessels if vessel.capacity_ml >= needed - 0.5), None)


def places_of_work() -> list[tuple[int, str]]:
    """(turn in the walk, name) of every place where vessels stand, whether anything is in them or not."""
    rows = Vessel.objects.filter(archived=False, place__archived=False).order_by()
    return list(rows.values_list("place__walk", "place__name").distinct())

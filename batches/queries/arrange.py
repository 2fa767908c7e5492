"""The places as they are walked, each with the vessels that stand in it, in use or free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.models import Vessel
from batches.queries.vessels import Standing, standing_vessels
from inventory.models import Place


@dataclass(frozen=True, slots=True)
class Stop:
    """A place of the walk with its row of vessels."""

    place: Place
    row: Sequence[Standing]
    first: bool
    last: bool


def walk() -> list[Stop]:
    """All places in use, empty ones too, in the order of the walk: three questions, however many vessels."""
    places = list(Place.objects.filter(archived=False).order_by("walk", "name", "pk"))
    rows: dict[int, list[Standing]] = {}
    for one in standing_vessels():
        rows.setdefault(one.vessel.place_id, []).append(one)
    end = len(places) - 1
    return [Stop(p, rows.get(p.pk, ()), number == 0, number == end) for number, p in enumerate(places)]


def in_hand(stops: Sequence[Stop], pk: str) -> Vessel | None:
    """The vessel that was tapped."""
    standing = (one.vessel for stop in stops for one in stop.row)
    return next((vessel for vessel in standing if str(vessel.pk) == pk), None)

"""A harvest: fresh herb from a plot or a wild site becomes a lot, and its trace begins there."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.calc.days import day_of, moment_on
from inventory.ledger import Line, post
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material, Place
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

PLANTS = (Material.Kind.HERB, Material.Kind.FUNGUS)


@transaction.atomic
def harvest_lot(
    *,
    material: Material,
    amount: Decimal,
    place: Place,
    site: str,
    harvested_on: date,
    moisture: float,
    by: Person,
    at: datetime,
    key: str,
    moisture_measured: bool = False,
    part: str = "",
    weather: str = "",
    washed: bool = False,
    gathered_by: str = "",
    note: str = "",
    as_entered: dict[str, Any] | None = None,
) -> Lot:
    """`amount` g of fresh herb, as weighed, with `moisture` (0..1) measured or assumed.

    It waits in quarantine if its goods do. Raises `Refused` for a day to come, goods that do not grow, no
    site and no weight.
    """
    zone = Workshop.objects.get().tz
    if harvested_on > day_of(at, zone):
        raise Refused("Harvested on: that day is still to come.", field="harvested_on")
    if material.kind not in PLANTS:
        raise Refused(f"Herb: {material} is not harvested. Choose a herb or a fungus.", field="material")
    if not site.strip():
        raise Refused("Plot or site: write where it grew.", field="site")
    if amount <= 0:
        raise Refused("Weight, fresh: more than nothing.", field="amount")
    waits = material.quarantine
    facts = {
        "site": site.strip(),
        "part": part.strip() or material.part,
        "weather": weather.strip(),
        "washed": washed,
        "gathered_by": gathered_by.strip() or str(by),
        "moisture": "measured" if moisture_measured else "assumed",
    }
    lot = new_lot(
        material=material,
        origin=Lot.Origin.HARVESTED,
        status=Decision.Status.QUARANTINE if waits else Decision.Status.RELEASED,
        by=by,
        at=at,
        arrived_on=harvested_on,
        moisture=moisture,
        note=note.strip(),
        origin_facts=facts,
    )
    post(
        kind="harvested",
        lines=[Line(amount, lot, place, as_entered=as_entered or {})],
        by=by,
        at=moment_on(harvested_on, at, zone),
        recorded_at=at,
        key=key,
        caption=_caption(lot, amount, place),
    )
    return lot


def _caption(lot: Lot, amount: Decimal, place: Place) -> str:
    facts = lot.origin_facts
    weather = f", {facts['weather']}" if facts["weather"] else ""
    washed = ", washed" if facts["washed"] else ""
    return (
        f"Harvested {in_words(amount, counted=False)} of {lot.material} at {facts['site']} by "
        f"{facts['gathered_by']}{weather}{washed}; put at {place}."
    )

"""A quick jar: a trial without a formula, begun in under a minute."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches.logbook import log
from batches.models import Batch, Vessel
from batches.openings import new_batch
from batches.queries.stock import short_of
from batches.queries.vessels import capacity_for, contents_ml, sitting_in
from batches.stages import kind_of
from batches.stages.courses import TRIAL
from inventory.models import Decision, Lot, Material
from inventory.queries.lots import on_hand, status_of
from workshop.calc.rounding import show, to_stock
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def plan_quick_jar(
    *,
    herb_g: float,
    menstruum_lot: Lot,
    menstruum_ml: float,
    vessel: Vessel,
    by: Person,
    at: datetime,
    herb_lot: Lot | None = None,
    new_name: str = "",
) -> Batch:
    """A trial batch of `herb_g` g in `menstruum_ml` mL (20 °C), ready to be charged. Takes nothing yet.

    A plant of which there is no lot is given by `new_name`; its lot is asked for at charging.
    Raises `Refused` for lots that may not be used, a vessel in use or too small, no plant.
    """
    herb = _plant(herb_lot, new_name)
    if herb_lot is not None:
        _refuse_unusable(herb_lot, herb_g, "herb_lot")
    _refuse_unusable(menstruum_lot, None, "menstruum_lot")
    _refuse_vessel(vessel, menstruum_ml, herb_g)
    batch = new_batch(
        title=herb.name,
        steps=[(kind, kind_of(kind).write(kind_of(kind).read({}))) for kind in TRIAL],
        by=by,
        at=at,
        trial=True,
        herb=herb,
        plan={
            "herb_lot": herb_lot.pk if herb_lot else None,
            "herb_g": herb_g,
            "menstruum_lot": menstruum_lot.pk,
            "menstruum_ml": menstruum_ml,
            "vessel": vessel.pk,
        },
    )
    caption = (
        f"Quick jar planned: {show(herb_g, 'g', 1)} of {herb.name} in {show(menstruum_ml, 'mL', 0)} "
        f"of {menstruum_lot.material} {menstruum_lot.code}, in {vessel.tag}."
    )
    log(stage=batch.stages.get(order=1), act="planned", caption=caption, by=by, at=at, recorded_at=at)
    return batch


def _plant(lot: Lot | None, new_name: str) -> Material:
    if lot is not None:
        return lot.material
    name = new_name.strip()
    if not name:
        raise Refused("Herb: choose a lot, or write the name of a new plant.", field="herb_lot")
    kinds = [Material.Kind.HERB, Material.Kind.FUNGUS]
    found = Material.objects.filter(name__iexact=name, kind__in=kinds).order_by("pk").first()
    return found or Material.objects.create(kind=Material.Kind.HERB, name=name)


def _refuse_unusable(lot: Lot, grams: float | None, field: str) -> None:
    status = status_of(lot)
    if status != Decision.Status.RELEASED:
        said = Decision.Status(status).label.lower()
        raise Refused(
            f"Lot {lot.code} is {said}, so it cannot be used. The owner can release it.", field=field
        )
    left = float(on_hand(lot))
    if grams is not None and lot.material.metered and grams > left + 0.05:
        raise Refused(
            f"Lot {lot.code} has {show(left, 'g', 1)} left. Take less, or put the count right first.",
            field="herb_g",
            offer=short_of(lot, to_stock(grams)),
        )


def _refuse_vessel(vessel: Vessel, liquid_ml: float, herb_g: float) -> None:
    sitting = sitting_in(vessel)
    if sitting is not None:
        raise Refused(f"{vessel.tag} holds {sitting.stage.batch}. Take another vessel.", field="vessel")
    needed = capacity_for(contents_ml(liquid_ml, herb_g))
    if vessel.capacity_ml < needed - 0.5:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; with a tenth left empty "
            f"{show(needed, 'mL', 0)} are needed. Take a larger vessel or less.",
            field="vessel",
        )

"""Vessels: added, changed, weighed empty, put away."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from batches.models import Vessel
from batches.queries.vessels import sitting_in
from inventory.models import Place
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def add_vessel(
    *,
    tag: str,
    capacity_ml: float,
    place: Place,
    by: Person,
    at: datetime,
    form: str = Vessel.Form.JAR,
    tare_g: float | None = None,
    diameter_cm: float | None = None,
) -> Vessel:
    """A vessel with its permanent tag. Capacity in mL, tare in g, inner diameter in cm.

    Raises `Refused` when the tag is taken or the vessel holds nothing.
    """
    tag = tag.strip().upper()
    _check(tag, capacity_ml, None)
    return Vessel.objects.create(
        tag=tag, capacity_ml=capacity_ml, place=place, form=form, tare_g=tare_g, diameter_cm=diameter_cm
    )


@transaction.atomic
def change_vessel(*, vessel: Vessel, by: Person, at: datetime, **facts: Any) -> Vessel:
    """Change a vessel's facts. While something is in it its tare stands: targets were reckoned with it."""
    locked = Vessel.objects.select_for_update().get(pk=vessel.pk)
    tag = str(facts.get("tag", locked.tag)).strip().upper()
    _check(tag, facts.get("capacity_ml", locked.capacity_ml), locked)
    tare = facts.get("tare_g", locked.tare_g)
    sitting = sitting_in(locked)
    if tare != locked.tare_g and locked.tare_g is not None and sitting is not None:
        raise Refused(
            f"{locked.tag} holds {sitting.stage.batch}, and its targets were reckoned with the old tare. "
            "Change the tare when it stands empty.",
            field="tare_g",
        )
    for name, value in (facts | {"tag": tag}).items():
        setattr(locked, name, value)
    locked.save()
    return locked


@transaction.atomic
def put_away_vessel(*, vessel: Vessel, away: bool, by: Person, at: datetime) -> Vessel:
    """Take an empty vessel out of use, or back into it. Raises `Refused` while something is in it."""
    locked = Vessel.objects.select_for_update().get(pk=vessel.pk)
    sitting = sitting_in(locked)
    if away and sitting is not None:
        raise Refused(f"{locked.tag} holds {sitting.stage.batch}. Empty it first.")
    locked.archived = away
    locked.save(update_fields=["archived"])
    return locked


def _check(tag: str, capacity_ml: float, own: Vessel | None) -> None:
    if not tag:
        raise Refused("A vessel needs a tag.", field="tag")
    others = Vessel.objects.filter(tag__iexact=tag)
    if own is not None:
        others = others.exclude(pk=own.pk)
    if others.exists():
        raise Refused(f"Another vessel carries the tag {tag}. Choose another one.", field="tag")
    if not capacity_ml > 0:
        raise Refused("A vessel holds more than 0 mL.", field="capacity_ml")

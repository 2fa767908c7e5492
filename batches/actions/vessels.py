"""Vessels: added, changed, weighed empty, put away."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from batches import bell
from batches.models import Vessel
from batches.queries.vessels import sitting_in, tag_order
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
        tag=tag,
        capacity_ml=capacity_ml,
        place=place,
        position=_next_position(place),
        form=form,
        tare_g=tare_g,
        diameter_cm=diameter_cm,
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
    moved = facts.get("place", locked.place) != locked.place
    if moved:
        facts |= {"position": _next_position(facts["place"])}
    for name, value in (facts | {"tag": tag}).items():
        setattr(locked, name, value)
    locked.save()
    if moved and sitting is not None:
        bell.ring_batch(sitting.stage.batch, at)  # its reminders name the place
    return locked


@transaction.atomic
def stand_vessel(
    *, vessel: Vessel, place: Place, before: Vessel | None, by: Person, at: datetime
) -> tuple[Place, Vessel | None]:
    """Put a vessel to a place, before another one there or at the end of the row.

    Returns where it stood: the place and the vessel after it, which undoes it. Raises `Refused` when
    `before` no longer stands there.
    """
    places = {vessel.place_id, place.pk}
    rows = Vessel.objects.select_for_update().filter(place__in=places, archived=False).order_by("pk")
    standing = sorted(rows, key=lambda one: (one.position, tag_order(one.tag)))
    locked = next((one for one in standing if one.pk == vessel.pk), None)
    if locked is None:
        raise Refused(f"{vessel} was moved or put away meanwhile. Look where it stands, and take it again.")
    old = [one for one in standing if one.place_id == locked.place_id]
    after = next(iter(old[old.index(locked) + 1 :]), None)
    was = (locked.place, after)
    row = [one for one in standing if one.place_id == place.pk and one.pk != locked.pk]
    if before is not None and before not in row:
        raise Refused(f"{before} does not stand at {place} any more. Look again, and tap the new neighbour.")
    row.insert(len(row) if before is None else row.index(before), locked)
    locked.place = place
    for number, one in enumerate(row, start=1):
        one.position = number
    Vessel.objects.bulk_update(row, ["place", "position"])
    sitting = sitting_in(locked)
    if sitting is not None:
        bell.ring_batch(sitting.stage.batch, at)
    return was


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


def _next_position(place: Place) -> int:
    """Behind what was arranged there; 0, and so by its tag, where nothing was."""
    last: int = Vessel.objects.filter(place=place).aggregate(last=Max("position"))["last"] or 0
    return last + 1 if last else 0


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

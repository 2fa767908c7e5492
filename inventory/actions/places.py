"""Places: where lots stand."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from inventory.models import Place
from inventory.models.saving import changed, saved
from workshop.errors import Refused
from workshop.people.models import Person
from workshop.reminders import series


@transaction.atomic
def add_place(*, by: Person, at: datetime, **facts: Any) -> Place:
    """A new place."""
    return saved(Place(**facts))


@transaction.atomic
def change_place(*, place: Place, by: Person, at: datetime, **facts: Any) -> Place:
    """Change a place; what stands there stays there."""
    was = Place.objects.get(pk=place.pk).name
    found = changed(place, facts)
    series.move_place(was=was, place=found.name, walk=found.walk)
    return found


@transaction.atomic
def walk_place(*, place: Place, steps: int, by: Person, at: datetime) -> Place:
    """Let a place come so many stops earlier (below 0) or later in the walk; reminders follow.

    Raises `Refused` at either end of the walk.
    """
    rows = list(Place.objects.select_for_update().filter(archived=False).order_by("pk"))
    rows.sort(key=lambda one: (one.walk, one.name, one.pk))
    if place not in rows:
        raise Refused(f"{place} is no longer in use. Look at the walk again.")
    was = rows.index(place)
    now = was + steps
    if not 0 <= now < len(rows):
        end = "first" if steps < 0 else "last"
        raise Refused(f"{place} is the {end} stop of the walk already.")
    rows.insert(now, rows.pop(was))
    for number, one in enumerate(rows, start=1):
        if one.walk != number:
            one.walk = number
            one.save(update_fields=["walk"])
            series.move_place(was=one.name, place=one.name, walk=number)
    return rows[now]

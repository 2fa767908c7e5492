"""Places: where lots stand."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from inventory.models import Place
from inventory.models.saving import changed, saved
from workshop.people.models import Person


@transaction.atomic
def add_place(*, by: Person, at: datetime, **facts: Any) -> Place:
    """A new place."""
    return saved(Place(**facts))


@transaction.atomic
def change_place(*, place: Place, by: Person, at: datetime, **facts: Any) -> Place:
    """Change a place; what stands there stays there."""
    return changed(place, facts)

"""Suppliers and customers."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from inventory.models import Party
from inventory.models.saving import changed, saved
from workshop.people.models import Person


@transaction.atomic
def add_party(*, by: Person, at: datetime, **facts: Any) -> Party:
    """A new supplier or customer."""
    return saved(Party(**facts))


@transaction.atomic
def change_party(*, party: Party, by: Person, at: datetime, **facts: Any) -> Party:
    """Change a supplier or customer."""
    return changed(party, facts)

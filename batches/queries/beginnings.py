"""The first acts of a new workshop, in order, and which of them are done."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from batches.models import Batch, Vessel
from inventory.models import Decision, Lot, Material, Place


@dataclass(frozen=True, slots=True)
class Beginning:
    """One first act: what to do, where, and whether somebody has."""

    words: str
    url: str
    done: bool


def beginnings() -> tuple[Beginning, ...]:
    """Places, goods, the first lot and its release, a vessel, the first batch."""
    goods = Material.objects.exclude(kind=Material.Kind.WATER).exists()
    released = Decision.objects.filter(status=Decision.Status.RELEASED).exists()
    return (
        Beginning(
            "Name your shelves, cupboards and stove", reverse("inventory:place-add"), Place.objects.exists()
        ),
        Beginning("Say what you keep: herbs, spirit, bottles", reverse("inventory:goods-add"), goods),
        Beginning("Receive your first herb", reverse("inventory:receive"), Lot.objects.exists()),
        Beginning("Release it: until then nobody uses it", reverse("inventory:storeroom"), released),
        Beginning(
            "Add a vessel, with its tag and its weight",
            reverse("batches:vessel-new"),
            Vessel.objects.exists(),
        ),
        Beginning(
            "Plan a batch, or begin with a quick jar", reverse("batches:batches"), Batch.objects.exists()
        ),
    )

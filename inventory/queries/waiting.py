"""Lots in stock that wait for somebody to decide about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.models import Decision, Lot
from inventory.models.postings import Stock
from workshop.kept import kept


@dataclass(frozen=True, slots=True)
class WaitingLot:
    """A lot in quarantine: its code, its goods, where it stands."""

    code: str
    goods: str
    place: str


def waiting_lots() -> Sequence[WaitingLot]:
    """Each once, in the order of the walk. Kept while nothing is written."""
    return kept("waiting lots", _read)


def _read() -> list[WaitingLot]:
    held = Stock.objects.filter(on_hand__gt=0)
    waiting = Lot.objects.with_status().filter(
        pk__in=held.values("lot"), status_now=Decision.Status.QUARANTINE
    )
    rows = held.filter(lot__in=waiting.values("pk")).order_by("place__walk", "place__name", "lot__code")
    found: dict[str, WaitingLot] = {}
    for row in rows.select_related("lot__material", "place"):
        found.setdefault(row.lot.code, WaitingLot(row.lot.code, str(row.lot.material), row.place.name))
    return list(found.values())

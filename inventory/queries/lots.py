"""One lot: its status, what is where, and which lots to take for a piece of work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from inventory.calc.allocation import Offer, Take, allocate
from inventory.models import Decision, Lot, Material, Place
from inventory.models.postings import Movement, Stock

NOTHING = Decimal(0)
CRUMBS = Decimal("0.02")


@dataclass(frozen=True, slots=True)
class Holding:
    """How much of a lot is at a place, in g or units."""

    place: Place
    on_hand: Decimal


def by_code(code: str) -> Lot | None:
    """The lot that carries `code`, with its goods and supplier."""
    return Lot.objects.select_related("material", "supplier", "created_by").filter(code=code).first()


def status_of(lot: Lot) -> str:
    """The status of the last decision; a lot without one waits in quarantine."""
    last = Decision.objects.filter(lot=lot).order_by("-pk").first()
    return last.status if last else Decision.Status.QUARANTINE


def holdings(lot: Lot) -> list[Holding]:
    """Where the lot is, in the order of the walk; empty places left out."""
    rows = Stock.objects.filter(lot=lot, on_hand__gt=0).select_related("place")
    return [Holding(row.place, row.on_hand) for row in rows.order_by("place__walk", "place__name", "pk")]


def on_hand(lot: Lot) -> Decimal:
    """What is left of a lot at all places, in g or units."""
    total = Stock.objects.filter(lot=lot).aggregate(total=Sum("on_hand"))["total"]
    return total or NOTHING


def at_place(lot: Lot, place: Place) -> Decimal:
    """What the book says is left of a lot at one place."""
    row = Stock.objects.filter(lot=lot, place=place).first()
    return row.on_hand if row else NOTHING


def crumbs(lot: Lot, held: Sequence[Holding]) -> Holding | None:
    """The last of a bag or can: at one place, and under 2 % of what the lot began with.

    The share is common practice of a storeroom, no source. Counted goods have no crumbs.
    """
    if lot.material.counted or not lot.material.metered:
        return None
    given = Movement.objects.filter(lot=lot, amount__gt=0)
    first = given.order_by("posting__seq").values("posting")[:1]
    began = given.filter(posting=first).aggregate(g=Sum("amount"))["g"] or NOTHING
    return held[0] if len(held) == 1 and held[0].on_hand < began * CRUMBS else None


@dataclass(frozen=True, slots=True)
class Proposal:
    """Take `amount` (g or units) of `lot` at `place`."""

    lot: Lot
    place: Place
    amount: Decimal


def proposals(*, material: Material, amount: Decimal, today: date) -> list[Proposal]:
    """Which lots to take: one that covers `amount` before crumbs of several, else the first to expire.

    Only released lots that are not past their best-before day. The sum is less than `amount` when the
    store room holds less. Goods without a balance are taken from their one lot at no place: none here.
    """
    rows = {row.pk: row for row in _usable(material, today)}
    offers = [Offer(pk, row.on_hand, row.lot.best_before, group=row.lot_id) for pk, row in rows.items()]
    return [_proposal(rows[take.key], take) for take in allocate(amount, offers)]


def _usable(material: Material, today: date) -> list[Stock]:
    lots = Lot.objects.with_status().filter(material=material, status_now=Decision.Status.RELEASED)
    rows = Stock.objects.filter(lot__in=lots.values("pk"), on_hand__gt=0)
    found = rows.select_related("lot__material", "place").order_by("lot__best_before", "lot_id", "pk")
    return [row for row in found if not row.lot.expired(today)]


def _proposal(row: Stock, take: Take) -> Proposal:
    return Proposal(row.lot, row.place, take.amount)


def tap_lot(material: Material) -> Lot | None:
    """The one perpetual lot of goods without a balance."""
    lots = Lot.objects.filter(material=material, origin=Lot.Origin.TAP).select_related("material")
    return lots.order_by("pk").first()

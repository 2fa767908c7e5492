"""Where a batch finds what it needs: lots by kind with what is there, and the place to take it from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from inventory.models import Decision, Lot, Place
from inventory.models.postings import Stock
from inventory.queries.shortfall import way_out
from workshop.errors import Offer as WayOut
from workshop.errors import Refused


@dataclass(frozen=True, slots=True)
class Offer:
    """A released lot that may be used, with what is there in g or units."""

    lot: Lot
    on_hand: Decimal


def offers(*kinds: str, today: date | None = None) -> list[Offer]:
    """Released lots of these kinds of goods with something on hand, first expiring first."""
    lots = list(
        Lot.objects.of_kind(*kinds)
        .with_status()
        .filter(status_now=Decision.Status.RELEASED)
        .select_related("material")
    )
    sums = sums_of(lots)
    found = [Offer(lot, sums[lot.pk]) for lot in lots if sums.get(lot.pk, 0) > 0 or not lot.material.metered]
    if today is not None:
        found = [offer for offer in found if not offer.lot.expired(today)]
    return sorted(found, key=lambda offer: (offer.lot.best_before or date.max, offer.lot.pk))


def sums_of(lots: list[Lot]) -> dict[int, Decimal]:
    """On hand over all places, by lot id."""
    rows = Stock.objects.filter(lot__in=lots).values_list("lot").annotate(Sum("on_hand"))
    return dict(rows)


def place_of(lot: Lot, amount: Decimal) -> Place:
    """The place to take `amount` of a lot from: one that has it, else the one with most. Refused if none."""
    rows = list(Stock.objects.filter(lot=lot).select_related("place").order_by("-on_hand", "pk"))
    if not rows or rows[0].on_hand <= 0:
        raise Refused(
            f"Lot {lot.code} is used up. Take another lot, or put the count right first.",
            offer=short_of(lot, amount),
        )
    return rows[0].place


def short_of(lot: Lot, wanted: Decimal) -> WayOut | None:
    """The way out where `wanted` (g or units) of a lot is more than all that the book has of it."""
    held = Stock.objects.filter(lot=lot).select_related("place").order_by("-on_hand", "-pk")
    book = sums_of([lot]).get(lot.pk, Decimal(0))
    most = held.first()
    if most is None or wanted <= book:
        return None
    right = most.on_hand + wanted - book
    return way_out(lot, most.place, book=most.on_hand, wanted=right, elsewhere=())


NEARLY_ALL = Decimal("0.005")
NEARLY_G = Decimal(1)


def drawn(lot: Lot, grams: Decimal) -> Decimal:
    """What is drawn when `grams` were measured: all of it when that is within 0.5 % (or 1 g) of the book.

    A measure is never finer than that; without it the last drop would be refused or left behind.
    """
    on_hand = sums_of([lot]).get(lot.pk, Decimal(0))
    near = max(NEARLY_G, on_hand * NEARLY_ALL)
    return on_hand if lot.material.metered and abs(grams - on_hand) <= near else grams

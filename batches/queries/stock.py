"""Where a batch finds what it needs: lots by kind with what is there, and the place to take it from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from inventory.models import Decision, Lot, Place
from inventory.models.postings import Stock
from inventory.queries.shortfall import way_out
from workshop.calc.rounding import show
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
    there = {lot.pk: sums.get(lot.pk, Decimal(0)) for lot in lots}
    found = [Offer(lot, there[lot.pk]) for lot in lots if there[lot.pk] > 0 or not lot.material.metered]
    if today is not None:
        found = [offer for offer in found if not offer.lot.expired(today)]
    return sorted(found, key=lambda offer: (offer.lot.best_before or date.max, offer.lot.pk))


def sums_of(lots: list[Lot]) -> dict[int, Decimal]:
    """On hand over all places, by lot id."""
    rows = Stock.objects.filter(lot__in=lots).values_list("lot").annotate(Sum("on_hand"))
    return dict(rows)


def place_of(lot: Lot, amount: Decimal) -> Place:
    """Where most of a lot stands. Refused when it is used up, with the way out for `amount`."""
    return _held(lot, amount)[0].place if lot.material.metered else _tap()


def _tap() -> Place:
    """Where goods are drawn of which no balance is kept: the first place there is."""
    place = Place.objects.filter(archived=False).first()
    if place is None:
        raise Refused("There is no place yet. Name your first one under Storeroom.")
    return place


def places_of(lot: Lot, amount: Decimal) -> list[tuple[Place, Decimal]]:
    """Where `amount` (g or units) of a lot is taken from: the fullest place, and others as it takes.

    More than there is anywhere, and nothing at all, is asked of the fullest: the ledger has the last word.
    Raises `Refused` when the lot is used up.
    """
    if not lot.material.metered:
        return [(_tap(), amount)]
    rows = _held(lot, amount)
    if not 0 < amount <= sum(row.on_hand for row in rows):
        return [(rows[0].place, amount)]
    found, left = [], amount
    for row in rows:
        part = min(left, row.on_hand)
        if part > 0:
            found.append((row.place, part))
        left -= part
    return found


def _held(lot: Lot, amount: Decimal) -> list[Stock]:
    """Stock rows of a lot, the fullest first."""
    rows = list(Stock.objects.filter(lot=lot).select_related("place").order_by("-on_hand", "pk"))
    if not rows or rows[0].on_hand <= 0:
        raise Refused(
            f"Lot {lot.code} is used up. Take another lot, or put the count right first.",
            offer=short_of(lot, amount),
        )
    return rows


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
OF_A_SMALL_REST = Decimal("0.05")


def drawn(lot: Lot, grams: Decimal) -> Decimal:
    """What is drawn when `grams` were measured: all of it when that is within 0.5 % (or 1 g) of the book.

    A measure is never finer than that; without it the last drop would be refused or left behind. Of a small
    rest the gram counts only up to a twentieth.
    """
    on_hand = sums_of([lot]).get(lot.pk, Decimal(0))
    return on_hand if lot.material.metered and abs(grams - on_hand) <= _near(on_hand) else grams


def as_all(measured: Decimal, taken: Decimal) -> str:
    """Said behind an amount where all of a lot was taken for a measure that nearly was all; "" else."""
    said, all_g = show(measured, "g", 0), show(taken, "g", 0)
    return f" ({said} measured, taken as all {all_g} there)" if said != all_g else ""


def at_most(lot: Lot, grams: Decimal) -> Decimal:
    """What is left of a lot when `grams` were measured: a hair more than the book has is all of it.

    Unlike `drawn` a little less stays less: the difference is what evaporated, or the sludge.
    """
    on_hand = sums_of([lot]).get(lot.pk, Decimal(0))
    return on_hand if 0 < grams - on_hand <= _near(on_hand) else grams


def _near(on_hand: Decimal) -> Decimal:
    return max(on_hand * NEARLY_ALL, min(NEARLY_G, on_hand * OF_A_SMALL_REST))

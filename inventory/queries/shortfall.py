"""The way out when more of a lot was used than the book says is there: the scale is right."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Sum

from inventory.calc.balances import in_words
from inventory.models import Lot, Place
from inventory.models.postings import Movement
from workshop.calc.plausible import far_off
from workshop.errors import Offer

Held = tuple[Place, Decimal]
COUNT, MOVE = "inventory:count", "inventory:move"


def typed(amount: Decimal, *, counted: bool) -> str:
    """An amount as somebody would type it: "180.5 g", or "40"."""
    text = f"{amount.normalize():f}"
    return text if counted else f"{text} g"


def way_out(
    lot: Lot, place: Place, *, book: Decimal, wanted: Decimal, elsewhere: Iterable[Held]
) -> Offer | None:
    """What to offer when `wanted` (g or units) of a lot were used at a place where the book has less.

    Where the lot stands at another place too, it may simply have been carried over: then that is offered.
    None for more than twice all that ever was of the lot: that is a slip in the typing, no wrong count.
    """
    if far_off(float(wanted), float(max(book, _ever(lot))), short=False):
        return None
    others = sorted(elsewhere, key=lambda held: held[1])
    if others and others[-1][1] > 0:
        return _carried(lot, place, *others[-1], missing=wanted - book)
    return _count_was_wrong(lot, place, book, wanted)


def _ever(lot: Lot) -> Decimal:
    """All of a lot (g or units) that came in, was made or was found at a count."""
    came = Movement.objects.filter(lot=lot, amount__gt=0).aggregate(Sum("amount"))
    return Decimal(came["amount__sum"] or 0)


def _count_was_wrong(lot: Lot, place: Place, book: Decimal, wanted: Decimal) -> Offer:
    counted = lot.material.counted
    has, took = (in_words(amount, counted=counted) for amount in (book, wanted))
    found = "there were" if counted else "the scale says"
    more = in_words(wanted - book, counted=counted)
    query = {"place": str(place.pk), "counted": typed(wanted, counted=counted)}
    return Offer(
        f"The book says {has}, {found} {took}: the count was wrong, +{more}.",
        f"Put it right: +{more}",
        COUNT,
        (lot.code,),
        query,
    )


def _carried(lot: Lot, place: Place, other: Place, there: Decimal, *, missing: Decimal) -> Offer:
    counted = lot.material.counted
    amount = min(there, missing)
    has = in_words(there, counted=counted)
    query = {"from_place": str(other.pk), "to_place": str(place.pk), "amount": typed(amount, counted=counted)}
    return Offer(
        f"By the book, {has} of this lot stand at {other}. "
        f"If some of it was brought to {place}, say so first.",
        f"Moved: {in_words(amount, counted=counted)}",
        MOVE,
        (lot.code,),
        query,
    )

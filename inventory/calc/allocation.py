"""Which lots to take for a wanted amount."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Offer:
    """What may be taken: `amount` (g or units), best before, and the lot (`group`) it belongs to."""

    key: int
    amount: Decimal
    best_before: date | None
    group: int


@dataclass(frozen=True, slots=True)
class Take:
    """How much to take of the offer called `key`."""

    key: int
    amount: Decimal


def allocate(wanted: Decimal, offers: Sequence[Offer]) -> list[Take]:
    """Take from one lot that covers `wanted`, the first of those to expire; else first expiring, first out.

    A lot that lies at several places is taken from the fullest place first. What has no date comes last.
    The takes sum to `wanted`, or to all there is.
    """
    if wanted <= 0:
        return []
    lots = _by_lot(offers)
    covering = [lot for lot in lots if sum(offer.amount for offer in lot) >= wanted]
    return _fill(wanted, covering[0] if covering else [offer for lot in lots for offer in lot])


def _by_lot(offers: Sequence[Offer]) -> list[list[Offer]]:
    """The offers by lot, first expiring lot first, fullest place first within a lot."""
    lots: dict[int, list[Offer]] = defaultdict(list)
    for offer in offers:
        if offer.amount > 0:
            lots[offer.group].append(offer)
    for lot in lots.values():
        lot.sort(key=lambda offer: (-offer.amount, offer.key))
    return sorted(lots.values(), key=lambda lot: (lot[0].best_before or date.max, lot[0].group))


def _fill(wanted: Decimal, offers: Sequence[Offer]) -> list[Take]:
    takes = []
    left = wanted
    for offer in offers:
        if left <= 0:
            break
        amount = min(left, offer.amount)
        takes.append(Take(offer.key, amount))
        left -= amount
    return takes

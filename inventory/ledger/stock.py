"""Balances: locked in one order, refused with a sentence, moved by addition in the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.db.models import F

from inventory.calc.balances import in_words
from inventory.calc.kinds import KINDS
from inventory.ledger.lines import Line, Source, Strength
from inventory.models import Decision, Lot
from inventory.models.postings import Movement, Stock
from inventory.queries.shortfall import way_out
from workshop.errors import Refused

LotPlace = tuple[int, int]


def lock_stock(lines: Sequence[Line]) -> None:
    """Lots by id, then stock rows in (lot, place) order: two postings can never wait crosswise.

    Both querysets are evaluated on purpose: a lazy lock locks nothing.
    """
    pairs = sorted(deltas(lines))
    lot_ids = sorted({line.lot.pk for line in lines if line.lot is not None and line.lot.material.metered})
    list(Lot.objects.select_for_update(no_key=True).filter(pk__in=lot_ids).order_by("pk").values("pk"))
    Stock.objects.bulk_create(
        [Stock(lot_id=lot, place_id=place) for lot, place in pairs], ignore_conflicts=True
    )
    list(Stock.objects.select_for_update().filter(lot_id__in=lot_ids).order_by("lot_id", "place_id"))


def deltas(lines: Sequence[Line]) -> dict[LotPlace, Decimal]:
    """What each (lot, place) gains or loses; unmetered goods keep no balance."""
    found: dict[LotPlace, Decimal] = defaultdict(Decimal)
    for line in lines:
        if line.lot is not None and line.place is not None and line.lot.material.metered:
            found[line.lot.pk, line.place.pk] += line.amount
    return found


def refuse_unusable(kind: str, lines: Sequence[Line], serves: Source) -> None:
    """Only released lots are used, and in-process lots only by the work they belong to."""
    if not KINDS[kind].uses:
        return
    used = [line.lot for line in lines if line.lot is not None and line.amount < 0]
    metered = [lot for lot in used if lot.material.metered]
    last = Decision.objects.filter(lot__in=metered).order_by("lot_id", "-pk").distinct("lot_id")
    decided = dict(last.values_list("lot_id", "status"))
    for lot in metered:
        _refuse_unless_usable(lot, decided.get(lot.pk, Decision.Status.QUARANTINE), serves)


def _refuse_unless_usable(lot: Lot, decided: str, serves: Source) -> None:
    status = Decision.Status(decided)
    mine = (lot.serves_kind, lot.serves_ref) == (serves.kind, serves.ref)
    if status == Decision.Status.RELEASED or (status == Decision.Status.IN_PROCESS and mine):
        return
    if status == Decision.Status.IN_PROCESS:
        raise Refused(f"Lot {lot.code} belongs to another batch until the owner releases it as bulk.")
    raise Refused(
        f"Lot {lot.code} is {status.label.lower()}, so it cannot be used. The owner can release it."
    )


def move_stock(kind: str, lines: Sequence[Line]) -> None:
    """Add the deltas to the locked rows; refuse with a sentence before the CHECK constraint would."""
    lots = {line.lot.pk: line.lot for line in lines if line.lot is not None}
    found = Stock.objects.select_related("place").filter(lot_id__in=lots)
    rows = {(row.lot_id, row.place_id): row for row in found}
    for (lot_id, place_id), delta in sorted(deltas(lines).items()):
        row = rows[lot_id, place_id]
        if row.on_hand + delta < 0:
            raise _short(kind, lots[lot_id], row, -delta, rows.values())
        Stock.objects.filter(pk=row.pk).update(on_hand=F("on_hand") + delta)


def _short(kind: str, lot: Lot, row: Stock, wanted: Decimal, rows: Iterable[Stock]) -> Refused:
    """More is wanted than is there. The scale may be right: then the count was wrong, unless this undoes."""
    has, much = (in_words(amount, counted=lot.material.counted) for amount in (row.on_hand, wanted))
    held = [(other.place, other.on_hand) for other in rows if other.lot_id == lot.pk and other.pk != row.pk]
    elsewhere = held if KINDS[kind].uses else []
    offer = way_out(lot, row.place, book=row.on_hand, wanted=wanted, elsewhere=elsewhere)
    return Refused(
        f"Lot {lot.code} has {has} at {row.place}, and {much} is wanted. "
        "Take less, or put the count right first.",
        offer=None if kind == "undone" else offer,
    )


def set_strengths(lines: Sequence[Line]) -> None:
    """Lots whose lines say so take the line's strength as their own."""
    for line in lines:
        if line.lot is not None and line.sets_strength and line.strength is not None:
            _store_strength(line.lot, line.strength)


def restore_strengths(lots: Sequence[Lot]) -> None:
    """After an undoing, a lot's strength is that of its last standing movement that set one, else unknown."""
    for lot in lots:
        standing = Movement.objects.filter(
            lot=lot,
            sets_strength=True,
            posting__reverses__isnull=True,
            posting__reversed_by__isnull=True,
        )
        last = standing.order_by("-posting__seq", "-line").first()
        known = Strength(None, "")
        if last is not None:
            known = Strength(last.abv, last.abv_basis, last.abv_u, last.density_20, last.composition)
        _store_strength(lot, known)


def _store_strength(lot: Lot, known: Strength) -> None:
    lot.abv, lot.abv_u, lot.abv_basis = known.abv, known.u, known.basis
    lot.density_20, lot.composition = known.density_20, dict(known.composition)
    lot.save(update_fields=["abv", "abv_u", "abv_basis", "density_20", "composition"])

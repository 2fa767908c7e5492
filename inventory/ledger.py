"""The only door to stock: only `post()` and `reverse()` write postings, movements and balances."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F

from inventory.calc.kinds import KINDS, LOSSES
from inventory.models import Decision, Lot, Place
from inventory.models.postings import ChainHead, Movement, Posting, Stock
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

LotPlace = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Strength:
    """% vol at 20 °C with its standard uncertainty, basis and density (kg/m³ at 20 °C)."""

    abv: float
    basis: str
    u: float | None = None
    density_20: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One signed movement: grams (or units of counted goods) of a lot at a place, or a named loss.

    `mass_g` is the mass of content; it defaults to `amount` for goods kept by mass and must be given
    for counted goods (0 for empty bottles). `strength` becomes the lot's own when given with
    `sets_strength`.
    """

    amount: Decimal
    lot: Lot | None = None
    place: Place | None = None
    loss_kind: str = ""
    mass_g: Decimal | None = None
    strength: Strength | None = None
    sets_strength: bool = False
    pure_ml: float | None = None
    as_entered: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Source:
    """What a posting serves: ("batch", batch pk), ("stage", stage pk), ("dispatch", pk) or nothing."""

    kind: str = ""
    ref: str = ""


def loss(kind: str, mass_g: Decimal, pure_ml: float | None = None) -> Line:
    """A named loss of `mass_g` grams (positive: mass that went there)."""
    if kind not in LOSSES:
        raise ValueError(f"{kind!r} is no named loss")
    return Line(amount=mass_g, mass_g=mass_g, loss_kind=kind, pure_ml=pure_ml)


@transaction.atomic
def post(
    *,
    kind: str,
    lines: Sequence[Line],
    by: Person,
    at: datetime,
    recorded_at: datetime,
    key: str,
    caption: str,
    reason: str = "",
    source: Source = Source(),
    witness: Person | None = None,
    device: str = "",
    serves: Source | None = None,
    reverses: Posting | None = None,
) -> Posting:
    """Write one posting with its lines and move the balances, all or nothing, once per `key`.

    `at` is when it happened, `recorded_at` when it was written down. `serves` is the work for which
    in-process lots may be used. A repeat of `key` returns the posting that stands. Raises `Refused` when
    a lot is not there in that amount or may not be used, `ValueError` on lines that make no sense.
    """
    earlier = Posting.objects.filter(key=key).first()
    if earlier is not None:
        return earlier
    filled = [_filled(line) for line in lines]
    _check_sense(kind, filled)
    _lock(filled)
    earlier = Posting.objects.filter(key=key).first()  # a twin may have committed while we waited
    if earlier is not None:
        return earlier
    _refuse_unusable(kind, filled, serves or source)
    _move_stock(filled)
    return _write(kind, filled, by, at, recorded_at, key, caption, reason, source, witness, device, reverses)


@transaction.atomic
def reverse(
    *, posting: Posting, by: Person, at: datetime, reason: str, key: str, caption: str = ""
) -> Posting:
    """Undo a posting by its mirror image. Refused while later postings use what it gave, naming them."""
    lines = [_mirrored(row) for row in Movement.objects.filter(posting=posting).order_by("line")]
    _lock(lines)
    users = later_uses(posting)
    if Posting.objects.filter(reverses=posting).exists():
        raise Refused("This was already undone.")
    if posting.reverses_id:
        raise Refused("An undoing is not undone; do the act again instead.")
    if users:
        named = "; ".join(f"{use.caption}" for use in users[:5])
        raise Refused(f"This is used by what came after it: {named}. Undo that first, latest first.")
    undone = post(
        kind="undone",
        lines=lines,
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=caption or f"Undone: {posting.caption}",
        reason=reason,
        source=Source(posting.source_kind, posting.source_ref),
        reverses=posting,
    )
    _restore_strengths({line.lot for line in lines if line.lot is not None})
    return undone


def later_uses(posting: Posting) -> list[Posting]:
    """Standing postings after this one that take from what it gave, latest first."""
    given = Movement.objects.filter(posting=posting, amount__gt=0, lot__isnull=False).values("lot_id")
    users = Movement.objects.filter(
        lot_id__in=given,
        amount__lt=0,
        posting__seq__gt=posting.seq,
        posting__reversed_by__isnull=True,
        posting__reverses__isnull=True,
    )
    return list(Posting.objects.filter(pk__in=users.values("posting_id")).order_by("-seq"))


def _filled(line: Line) -> Line:
    if line.mass_g is not None or line.lot is None:
        return line
    counted = line.lot.material.counted
    return replace(line, mass_g=Decimal(0) if counted else line.amount)


def _check_sense(kind: str, lines: Sequence[Line]) -> None:
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of posting")
    if not lines:
        raise ValueError("a posting needs at least one line")
    for line in lines:
        if (line.lot is None) == (line.loss_kind == "") or (line.lot is None) != (line.place is None):
            raise ValueError("a line is a lot at a place, or a named loss")
        if not line.amount.is_finite() or line.amount != line.amount.quantize(Decimal("0.001")):
            raise ValueError("amounts are finite, in thousandths")
        if line.lot is not None and line.lot.material.counted and line.amount != int(line.amount):
            raise Refused(f"{line.lot.material} are counted in whole units.")


def _lock(lines: Sequence[Line]) -> None:
    """Lots by id, then stock rows in (lot, place) order: two postings can never wait crosswise.

    Both querysets are evaluated on purpose: a lazy lock locks nothing.
    """
    pairs = sorted(_deltas(lines))
    lot_ids = sorted({lot for lot, _ in pairs})
    list(Lot.objects.select_for_update(no_key=True).filter(pk__in=lot_ids).order_by("pk").values("pk"))
    Stock.objects.bulk_create(
        [Stock(lot_id=lot, place_id=place) for lot, place in pairs], ignore_conflicts=True
    )
    list(Stock.objects.select_for_update().filter(lot_id__in=lot_ids).order_by("lot_id", "place_id"))


def _deltas(lines: Sequence[Line]) -> dict[LotPlace, Decimal]:
    """What each (lot, place) gains or loses; unmetered goods keep no balance."""
    deltas: dict[LotPlace, Decimal] = defaultdict(Decimal)
    for line in lines:
        if line.lot is not None and line.place is not None and line.lot.material.metered:
            deltas[line.lot.pk, line.place.pk] += line.amount
    return deltas


def _refuse_unusable(kind: str, lines: Sequence[Line], serves: Source) -> None:
    if not KINDS[kind].uses:
        return
    for line in lines:
        if line.lot is None or line.amount >= 0 or not line.lot.material.metered:
            continue
        last = Decision.objects.filter(lot=line.lot).order_by("-pk").first()
        status = last.status if last else Decision.Status.QUARANTINE
        mine = (line.lot.serves_kind, line.lot.serves_ref) == (serves.kind, serves.ref)
        if status == Decision.Status.RELEASED or (status == Decision.Status.IN_PROCESS and mine):
            continue
        said = Decision.Status(status).label.lower()
        if status == Decision.Status.IN_PROCESS:
            raise Refused(
                f"Lot {line.lot.code} belongs to another batch until the owner releases it as bulk."
            )
        raise Refused(f"Lot {line.lot.code} is {said}, so it cannot be used. The owner can release it.")


def _move_stock(lines: Sequence[Line]) -> None:
    """Add the deltas to the locked rows; refuse with a sentence before the CHECK constraint would."""
    names = {line.lot.pk: line.lot for line in lines if line.lot is not None}
    for (lot_id, place_id), delta in sorted(_deltas(lines).items()):
        row = Stock.objects.select_related("place").get(lot_id=lot_id, place_id=place_id)
        if row.on_hand + delta < 0:
            lot = names[lot_id]
            unit = "" if lot.material.counted else "\u00a0g"
            raise Refused(
                f"Lot {lot.code} has {_plain(row.on_hand)}{unit} at {row.place}, "
                f"and {_plain(-delta)}{unit} is wanted. Take less, or put the count right first."
            )
        Stock.objects.filter(pk=row.pk).update(on_hand=F("on_hand") + delta)


def _write(
    kind: str,
    lines: Sequence[Line],
    by: Person,
    at: datetime,
    recorded_at: datetime,
    key: str,
    caption: str,
    reason: str,
    source: Source,
    witness: Person | None,
    device: str,
    reverses: Posting | None,
) -> Posting:
    """The rows themselves, chained under the head, which is locked last."""
    ChainHead.objects.get_or_create(pk=1)
    head = ChainHead.objects.select_for_update().get(pk=1)
    balanced = KINDS[kind].balanced or (reverses is not None and reverses.balanced)
    posting = Posting(
        seq=head.seq + 1,
        key=key,
        kind=kind,
        happened_at=at,
        recorded_at=recorded_at,
        zone=_zone(),
        by=by,
        witness=witness,
        device=device,
        source_kind=source.kind,
        source_ref=source.ref,
        caption=caption,
        reason=reason,
        reverses=reverses,
        balanced=balanced,
        prev_hash=head.hash,
    )
    movements = [_movement(number, line) for number, line in enumerate(lines, start=1)]
    posting.hash = chain_hash(posting, movements)
    posting.save(force_insert=True)
    for movement in movements:
        movement.posting = posting
    Movement.objects.bulk_create(movements)
    head.seq, head.hash = posting.seq, posting.hash
    head.save(update_fields=["seq", "hash"])
    _set_strengths(lines)
    return posting


def _movement(number: int, line: Line) -> Movement:
    strength = line.strength
    return Movement(
        line=number,
        lot=line.lot,
        place=line.place,
        amount=line.amount,
        mass_g=line.mass_g if line.mass_g is not None else line.amount,
        as_entered=line.as_entered,
        density_20=strength.density_20 if strength else None,
        abv=strength.abv if strength else None,
        abv_u=strength.u if strength else None,
        abv_basis=strength.basis if strength else "",
        sets_strength=line.sets_strength,
        pure_ml=line.pure_ml,
        loss_kind=line.loss_kind,
    )


def chain_hash(posting: Posting, movements: Sequence[Movement]) -> str:
    """SHA-256 over the previous hash and every stored field that a reader relies on."""
    body = {
        "prev": posting.prev_hash,
        "seq": posting.seq,
        "key": posting.key,
        "kind": posting.kind,
        "happened_at": posting.happened_at.timestamp(),
        "recorded_at": posting.recorded_at.timestamp(),
        "zone": posting.zone,
        "by": posting.by_id,
        "witness": posting.witness_id,
        "device": posting.device,
        "source": [posting.source_kind, posting.source_ref],
        "caption": posting.caption,
        "reason": posting.reason,
        "reverses": posting.reverses_id,
        "balanced": posting.balanced,
        "lines": [_hashed(movement) for movement in movements],
    }
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def _hashed(movement: Movement) -> list[Any]:
    return [
        movement.line,
        movement.lot_id,
        movement.place_id,
        f"{movement.amount:.3f}",
        f"{movement.mass_g:.3f}",
        movement.as_entered,
        movement.density_20,
        movement.abv,
        movement.abv_u,
        movement.abv_basis,
        movement.sets_strength,
        movement.pure_ml,
        movement.loss_kind,
    ]


def _set_strengths(lines: Sequence[Line]) -> None:
    for line in lines:
        if line.lot is not None and line.sets_strength and line.strength is not None:
            strength = line.strength
            _store_strength(line.lot, strength.abv, strength.u, strength.basis, strength.density_20)


def _restore_strengths(lots: set[Lot]) -> None:
    """After an undoing, a lot's strength is that of its last standing movement that set one."""
    for lot in lots:
        last = (
            Movement.objects.filter(
                lot=lot,
                sets_strength=True,
                posting__reverses__isnull=True,
                posting__reversed_by__isnull=True,
            )
            .order_by("-posting__seq")
            .first()
        )
        if last is not None:
            _store_strength(lot, last.abv, last.abv_u, last.abv_basis, last.density_20)


def _store_strength(
    lot: Lot, abv: float | None, u: float | None, basis: str, density_20: float | None
) -> None:
    lot.abv, lot.abv_u, lot.abv_basis, lot.density_20 = abv, u, basis, density_20
    lot.save(update_fields=["abv", "abv_u", "abv_basis", "density_20"])


def _mirrored(row: Movement) -> Line:
    strength = None
    if row.abv is not None:
        strength = Strength(row.abv, row.abv_basis, row.abv_u, row.density_20)
    return Line(
        amount=-row.amount,
        lot=row.lot,
        place=row.place,
        loss_kind=row.loss_kind,
        mass_g=-row.mass_g,
        strength=strength,
        pure_ml=-row.pure_ml if row.pure_ml is not None else None,
    )


def _zone() -> str:
    workshop = Workshop.objects.first()
    return workshop.zone if workshop else "UTC"


def _plain(amount: Decimal) -> str:
    return f"{amount:,.3f}".rstrip("0").rstrip(".")

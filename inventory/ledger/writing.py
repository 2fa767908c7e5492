"""The rows themselves, chained under the head."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.calc.kinds import KINDS
from inventory.ledger.lines import Line, Source
from inventory.models.chain import chain_hash
from inventory.models.postings import ChainHead, Movement, Posting
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

LONGEST = 300


@dataclass(frozen=True, slots=True)
class Entry:
    """What a posting says beside its lines."""

    kind: str
    by: Person
    at: datetime
    recorded_at: datetime
    key: str
    caption: str
    reason: str
    source: Source
    witness: Person | None
    device: str
    reverses: Posting | None


def write(entry: Entry, lines: Sequence[Line]) -> Posting:
    """One posting with its movements. The head is the last row to be locked, so `seq` has no gaps."""
    if len(entry.reason) > LONGEST:
        raise Refused(f"Reason: say it in at most {LONGEST} characters.", field="reason")
    ChainHead.objects.get_or_create(pk=1)
    head = ChainHead.objects.select_for_update().get(pk=1)
    posting = _posting(entry, head)
    movements = [_movement(number, line) for number, line in enumerate(lines, start=1)]
    posting.hash = chain_hash(posting, movements)
    posting.save(force_insert=True)
    for movement in movements:
        movement.posting = posting
    Movement.objects.bulk_create(movements)
    head.seq, head.hash = posting.seq, posting.hash
    head.save(update_fields=["seq", "hash"])
    return posting


def _posting(entry: Entry, head: ChainHead) -> Posting:
    undoing = entry.reverses is not None and entry.reverses.balanced
    workshop = Workshop.objects.first()
    return Posting(
        seq=head.seq + 1,
        key=entry.key,
        kind=entry.kind,
        happened_at=entry.at,
        recorded_at=entry.recorded_at,
        zone=workshop.zone if workshop else "UTC",
        by=entry.by,
        witness=entry.witness,
        device=entry.device,
        source_kind=entry.source.kind,
        source_ref=entry.source.ref,
        caption=_clipped(entry.caption),
        reason=entry.reason,
        reverses=entry.reverses,
        balanced=KINDS[entry.kind].balanced or undoing,
        prev_hash=head.hash,
    )


def _movement(number: int, line: Line) -> Movement:
    """Numbers are made floats here: 96 and 96.0 are one to the database and two to the hash."""
    strength = line.strength
    return Movement(
        line=number,
        lot=line.lot,
        place=line.place,
        amount=line.amount,
        mass_g=line.mass_g if line.mass_g is not None else line.amount,
        as_entered=_as_kept(line.as_entered),
        density_20=_real(strength.density_20) if strength else None,
        abv=_real(strength.abv) if strength else None,
        abv_u=_real(strength.u) if strength else None,
        abv_basis=str(strength.basis) if strength else "",
        composition={name: float(share) for name, share in strength.composition.items()} if strength else {},
        sets_strength=line.sets_strength,
        pure_ml=_real(line.pure_ml),
        loss_kind=line.loss_kind,
    )


def _real(value: float | None) -> float | None:
    return None if value is None else float(value)


def _as_kept(typed: dict[str, Any]) -> dict[str, Any]:
    """As JSON gives it back: Decimals and dates as text."""
    kept: dict[str, Any] = json.loads(json.dumps(typed, default=str, allow_nan=False))
    return kept


def _clipped(caption: str) -> str:
    return caption if len(caption) <= LONGEST else caption[: LONGEST - 1] + "…"

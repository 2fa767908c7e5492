"""The link between one posting and the next: what is hashed, in which order and spelling."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from inventory.models.postings import Movement, Posting


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
    # What came later into a line is hashed only where it says something: older lines keep their hash.
    later = [movement.composition] if movement.composition else []
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
        *later,
    ]

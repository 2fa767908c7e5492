"""The story of a lot: what happened to it, as sentences, in the order in which it happened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from inventory.models import Decision, Lot
from inventory.models.postings import Movement, Posting
from workshop import capture
from workshop.errors import Refused

KEPT_IN = ("g", "count", None)
DONE_AS = {
    Decision.Status.QUARANTINE: "Put in quarantine",
    Decision.Status.RELEASED: "Released",
    Decision.Status.HELD: "Held",
    Decision.Status.REJECTED: "Rejected",
    Decision.Status.RECALLED: "Recalled",
    Decision.Status.IN_PROCESS: "In process",
}


@dataclass(frozen=True, slots=True)
class Told:
    """One sentence of the story. `posting` is the pk that may be undone, if one may; `source` says where.

    `typed` is what was typed, where it was in another unit than the one that is kept.
    """

    when: datetime
    recorded: datetime
    sentence: str
    who: str
    reason: str = ""
    undone: bool = False
    posting: int | None = None
    source: str = ""
    typed: str = ""
    tablet: str = ""

    @property
    def remark(self) -> str:
        """How it came into the books, when not at once."""
        return capture.remark(self.when, self.recorded, zone=timezone.get_current_timezone())


def story(lot: Lot) -> list[Told]:
    """All that happened to a lot and all that was decided about it, oldest first. Three queries."""
    typed = _typed(lot)
    told = [_happened(row, typed.get(row.pk, "")) for row in _postings(lot)] + [
        _decided(row) for row in _decisions(lot)
    ]
    return sorted(told, key=lambda one: (one.when, one.recorded))


def _postings(lot: Lot) -> list[Posting]:
    touched = Movement.objects.filter(lot=lot).values("posting_id")
    rows = Posting.objects.filter(pk__in=touched).select_related("by", "reversed_by")
    return list(rows.order_by("seq"))


def _typed(lot: Lot) -> dict[int, str]:
    """What was typed for this lot in each posting, if its unit is not the one in which it is kept."""
    rows = Movement.objects.filter(lot=lot).exclude(as_entered={}).values_list("posting_id", "as_entered")
    return {
        posting: str(typed["text"])
        for posting, typed in rows.order_by("posting_id", "line")
        if typed.get("text") and typed.get("unit") not in KEPT_IN
    }


def _decisions(lot: Lot) -> list[Decision]:
    return list(Decision.objects.filter(lot=lot).select_related("by").order_by("pk"))


def _happened(row: Posting, typed: str) -> Told:
    undone = getattr(row, "reversed_by", None) is not None
    may_undo = not undone and row.reverses_id is None
    return Told(
        when=row.happened_at,
        recorded=row.recorded_at,
        sentence=row.caption,
        who=str(row.by),
        reason=row.reason,
        undone=undone,
        posting=row.pk if may_undo else None,
        source=row.source_kind,
        typed=typed,
        tablet=row.device,
    )


def _decided(row: Decision) -> Told:
    papers = f" On record: {row.evidence}." if row.evidence else ""
    return Told(
        when=row.at,
        recorded=row.at,
        sentence=f"{DONE_AS[Decision.Status(row.status)]}.{papers}",
        who=str(row.by),
        reason=row.reason,
    )


def posting_by_pk(pk: int) -> Posting:
    """The posting with this pk, and who did it. Raises `Refused` when there is none."""
    row = Posting.objects.select_related("by").filter(pk=pk).first()
    if row is None:
        raise Refused("There is no such entry in the story.")
    return row


def lot_codes(postings: list[Posting]) -> dict[int, list[str]]:
    """The codes of the lots that each posting touched."""
    rows = Movement.objects.filter(posting__in=postings, lot__isnull=False)
    found: dict[int, list[str]] = {}
    for posting, code in rows.values_list("posting_id", "lot__code").order_by("posting__seq", "line"):
        codes = found.setdefault(posting, [])
        if code not in codes:
            codes.append(code)
    return found

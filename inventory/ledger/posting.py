"""`post()` and `reverse()`: one posting, all or nothing, once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import connection, transaction
from django.db.models import Min, Q, QuerySet

from inventory.ledger.lines import Line, Source, check_sense, filled, mirrored
from inventory.ledger.stock import (
    lock_stock,
    move_stock,
    refuse_unusable,
    restore_strengths,
    set_strengths,
)
from inventory.ledger.writing import Entry, write
from inventory.models import Dispatch, Lot
from inventory.models.postings import Movement, Posting
from workshop import capture
from workshop.errors import Refused
from workshop.people.models import Person


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
    source: Source = Source(),  # noqa: B008 (frozen)
    witness: Person | None = None,
    device: str = "",
    serves: Source | None = None,
    reverses: Posting | None = None,
) -> Posting:
    """Write one posting with its lines and move the balances, all or nothing, once per `key`.

    `at` is when it happened, `recorded_at` when it was written down; an entry that waited on a tablet
    happened when it was made there. `serves` is the work for which in-process lots may be used. A repeat
    of `key` returns the posting that stands. Raises `Refused` when a lot is not there in that amount or may
    not be used, `ValueError` on lines that make no sense.
    """
    earlier = _standing(key)
    if earlier is not None:
        return earlier
    full = [filled(line) for line in lines]
    check_sense(kind, full)
    lock_stock(full)
    refuse_unusable(kind, full, serves or source)
    move_stock(kind, full)
    at, device = capture.happened(at), device or capture.tablet()
    entry = Entry(kind, by, at, recorded_at, key, caption, reason, source, witness, device, reverses)
    posting = write(entry, full)
    set_strengths(full)
    return posting


def _standing(key: str) -> Posting | None:
    """The posting that holds `key`, after waiting for a twin that may just be writing it.

    The wait is on the key itself: twins of one request share no other lock if they touch no metered lot.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [key])
    return Posting.objects.filter(key=key).first()


@transaction.atomic
def reverse(
    *, posting: Posting, by: Person, at: datetime, reason: str, key: str, caption: str = ""
) -> Posting:
    """Undo a posting by its mirror image. Refused while later postings use what it gave, naming them."""
    earlier = _standing(key)
    if earlier is not None:
        return earlier
    rows = _rows(posting)
    lines = [mirrored(row) for row in rows]
    lock_stock(lines)
    _refuse_undoing(posting)
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
    restore_strengths([row.lot for row in rows if row.lot is not None and row.sets_strength])
    return undone


@transaction.atomic
def reverse_all(
    *, postings: Sequence[Posting], by: Person, at: datetime, reason: str, key: str
) -> list[Posting]:
    """Undo several, latest first, all or none. All their lots are locked at once, before the first."""
    lock_stock([mirrored(row) for posting in postings for row in _rows(posting)])
    latest_first = sorted(postings, key=lambda posting: -posting.seq)
    return [
        reverse(posting=posting, by=by, at=at, reason=reason, key=f"{key}:{posting.seq}")
        for posting in latest_first
    ]


def _rows(posting: Posting) -> QuerySet[Movement]:
    rows: QuerySet[Movement] = Movement.objects.filter(posting=posting)
    return rows.select_related("lot__material", "place").order_by("line")


def _refuse_undoing(posting: Posting) -> None:
    # The row itself is locked: two undoings of a posting that touches no metered lot meet here.
    Posting.objects.select_for_update(no_key=True).get(pk=posting.pk)
    if Posting.objects.filter(reverses=posting).exists():
        raise Refused("This was already undone.")
    if posting.reverses_id:
        raise Refused("An undoing is not undone; do the act again instead.")
    users = later_uses(posting)
    if users:
        named = "; ".join(use.caption.rstrip(".") for use in users[:5])
        raise Refused(f"This is used by what came after it: {named}. Undo that first, latest first.")


def later_uses(posting: Posting) -> list[Posting]:
    """Standing postings that rest on this one, latest first.

    They took, later, from a lot and place it gave to; or they touch, in any way, a lot that began with it;
    or they brought back what a dispatch had sent out.
    """
    given = Movement.objects.filter(posting=posting, amount__gt=0, lot__isnull=False)
    resting = Q()
    for lot_id, place_id in given.values_list("lot_id", "place_id"):
        resting |= Q(lot_id=lot_id, place_id=place_id, amount__lt=0)
    born = _born_in(posting)
    if born:
        resting |= Q(lot_id__in=born)
    if posting.kind == "dispatched" and posting.source_kind == "dispatch":
        returns = Dispatch.objects.filter(returns=int(posting.source_ref)).values_list("pk", flat=True)
        back = [str(pk) for pk in returns]
        resting |= Q(posting__kind="returned", posting__source_kind="dispatch", posting__source_ref__in=back)
    if not resting:
        return []
    users = Movement.objects.filter(
        resting,
        posting__seq__gt=posting.seq,
        posting__reversed_by__isnull=True,
        posting__reverses__isnull=True,
    )
    return list(Posting.objects.filter(pk__in=users.values("posting_id")).order_by("-seq"))


def _born_in(posting: Posting) -> list[int]:
    """Lots whose first posting this is."""
    lots = Lot.objects.filter(
        pk__in=Movement.objects.filter(posting=posting, lot__isnull=False, amount__gt=0).values("lot_id"),
        material__metered=True,
    ).values("pk")
    first = Movement.objects.filter(lot_id__in=lots).values("lot_id").annotate(first=Min("posting__seq"))
    return [row["lot_id"] for row in first.order_by() if row["first"] == posting.seq]


def undo_order(posting: Posting) -> list[Posting]:
    """This posting and all that rests on it, latest first: what has to go, to undo it."""
    found: dict[int, Posting] = {}
    waiting = [posting]
    while waiting:
        one = waiting.pop()
        if one.pk not in found:
            found[one.pk] = one
            waiting += later_uses(one)
    return sorted(found.values(), key=lambda each: -each.seq)

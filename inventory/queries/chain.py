"""Is the story as it was written? Every link worked out again, and the balances summed again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Sum

from inventory.models.chain import chain_hash
from inventory.models.postings import ChainHead, Movement, Posting, Stock

BATCH = 500


@dataclass(frozen=True, slots=True)
class Problem:
    """Where the story does not hold, in words. `seq` is None when it is about the head or a balance."""

    seq: int | None
    words: str


def verify_chain() -> list[Problem]:
    """Read all postings from the first, work out each hash, compare links, order, head and balances."""
    problems: list[Problem] = []
    last_seq, last_hash = 0, ""
    for posting, movements in _with_movements():
        problems += _link(posting, movements, last_seq, last_hash)
        last_seq, last_hash = posting.seq, posting.hash
    head = ChainHead.objects.filter(pk=1).first()
    if (head.seq, head.hash) != (last_seq, last_hash) if head else last_seq:
        problems.append(Problem(None, "The head of the story is not its last entry: entries are missing."))
    return problems + _balances()


def _with_movements() -> Iterator[tuple[Posting, list[Movement]]]:
    """Postings in order, each with its movements, in batches: two queries for every 500 postings."""
    after = -1
    while True:
        postings = list(Posting.objects.filter(seq__gt=after).order_by("seq")[:BATCH])
        if not postings:
            return
        rows = Movement.objects.filter(posting__in=postings).order_by("posting_id", "line")
        found = {key: list(group) for key, group in groupby(rows, key=lambda row: row.posting_id)}
        for posting in postings:
            yield posting, found.get(posting.pk, [])
        after = postings[-1].seq


def _link(posting: Posting, movements: list[Movement], last_seq: int, last_hash: str) -> list[Problem]:
    problems = []
    if posting.seq != last_seq + 1:
        problems.append(
            Problem(posting.seq, f"Between entries {last_seq} and {posting.seq} some are missing.")
        )
    if posting.prev_hash != last_hash:
        problems.append(Problem(posting.seq, f"Entry {posting.seq} does not follow the one before it."))
    if posting.hash != chain_hash(posting, movements):
        problems.append(Problem(posting.seq, f"Entry {posting.seq} was changed after it was written."))
    return problems


def _balances() -> list[Problem]:
    """Places where what is on hand is not the sum of what moved. Goods without a balance have no rows."""
    moved = (
        Movement.objects.filter(lot__material__metered=True)
        .values("lot_id", "place_id")
        .annotate(total=Sum("amount"))
        .order_by()
    )
    sums = {(row["lot_id"], row["place_id"]): row["total"] for row in moved}
    held = {(row.lot_id, row.place_id): row.on_hand for row in Stock.objects.all()}
    wrong = [key for key in sums.keys() | held.keys() if sums.get(key, 0) != held.get(key, 0)]
    return [
        Problem(None, f"Lot {lot} at place {place}: on hand is not the sum of what moved.")
        for lot, place in sorted(wrong)
    ]
